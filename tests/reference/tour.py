"""Tours by the routing solver of OR-tools (guided local search).

In: [{"distance": [[m]], "people": n, "end": place, "seconds": s}, ...]; all start at place 0.
Out: for each the longest of the tours in m, or the one.
"""
import json
import sys

from ortools.constraint_solver import pywrapcp, routing_enums_pb2

MM = 1000  # the solver counts in whole numbers


def longest(case):
    people = case["people"]
    table = [[round(MM * d) for d in row] for row in case["distance"]]
    manager = pywrapcp.RoutingIndexManager(len(table), people, [0] * people, [case["end"]] * people)
    routing = pywrapcp.RoutingModel(manager)
    transit = routing.RegisterTransitMatrix(table)
    if people == 1:
        routing.SetArcCostEvaluatorOfAllVehicles(transit)
    else:
        routing.AddDimension(transit, 0, sum(map(max, table)), True, "way")
        routing.GetDimensionOrDie("way").SetGlobalSpanCostCoefficient(100)
        routing.SetArcCostEvaluatorOfAllVehicles(transit)
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    search.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    search.time_limit.FromMilliseconds(round(1000 * case["seconds"]))
    found = routing.SolveWithParameters(search)
    lengths = []
    for person in range(people):
        index, length = routing.Start(person), 0.0
        while not routing.IsEnd(index):
            ahead = found.Value(routing.NextVar(index))
            length += case["distance"][manager.IndexToNode(index)][manager.IndexToNode(ahead)]
            index = ahead
        lengths.append(length)
    return max(lengths)


json.dump([longest(case) for case in json.load(sys.stdin)], sys.stdout)
