"""Rounds by the routing solver of OR-tools (guided local search), under the same rules and with the same travel.

In: [{"drive": [[minutes]], place 0 the base; "calls": [{"minutes", "days": [0 or 1 for each day], "class", "worth"}], "days", "cars",
"limit", "by_class", "seconds", "check": rounds of somebody else or absent}, ...].
Out: for each {"drive": minutes of driving, "left": calls left out, "worth_left": their worth, "rounds": [[call, ...]],
"check": what is wrong with the rounds given, if anything, and their "driving"}.

Every day and car is a vehicle. A call outside its days is forbidden to the vehicles of other days; a round's length is a dimension
with the day's limit; with "by_class" a second dimension is held at each call's class and cannot fall along a round; a call may be left
out at a penalty above all driving, times its worth.
"""
import json
import sys

from ortools.constraint_solver import pywrapcp, routing_enums_pb2

UNIT = 1000  # the solver counts in whole numbers: thousandths of a minute
LEFT_OUT = 100_000 * UNIT


def solve(task):
    calls, days, cars = task["calls"], task["days"], task["cars"]
    drive = [[round(UNIT * m) for m in row] for row in task["drive"]]
    work = [0] + [round(UNIT * call["minutes"]) for call in calls]
    vehicles = days * cars
    manager = pywrapcp.RoutingIndexManager(len(drive), vehicles, 0)
    routing = pywrapcp.RoutingModel(manager)
    driving = routing.RegisterTransitMatrix(drive)
    routing.SetArcCostEvaluatorOfAllVehicles(driving)
    # A call's own minutes count when the car leaves it.
    length = routing.RegisterTransitMatrix([[m + work[a] for m in row] for a, row in enumerate(drive)])
    routing.AddDimension(length, 0, round(UNIT * task["limit"]), True, "length")
    if task["by_class"]:
        nothing = routing.RegisterTransitMatrix([[0] * len(drive)] * len(drive))
        most = max(call["class"] for call in calls)
        routing.AddDimension(nothing, most, most, False, "class")
        dimension = routing.GetDimensionOrDie("class")
    for number, call in enumerate(calls, start=1):
        index = manager.NodeToIndex(number)
        open_to = [v for v in range(vehicles) if call["days"][v // cars]]
        routing.VehicleVar(index).SetValues([-1, *open_to])
        routing.AddDisjunction([index], round(LEFT_OUT * call["worth"]))
        if task["by_class"]:
            dimension.CumulVar(index).SetValue(call["class"])
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    search.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    search.time_limit.FromMilliseconds(round(1000 * task["seconds"]))
    found = routing.SolveWithParameters(search)
    rounds = []
    for vehicle in range(vehicles):
        index, calls_made = routing.Start(vehicle), []
        while not routing.IsEnd(index):
            if manager.IndexToNode(index) > 0:
                calls_made.append(manager.IndexToNode(index) - 1)
            index = found.Value(routing.NextVar(index))
        rounds.append(calls_made)
    return rounds


def driving(task, calls):
    places = [0, *[call + 1 for call in calls], 0]
    return sum(task["drive"][a][b] for a, b in zip(places, places[1:]))


def faults(task, rounds):
    """What is wrong with rounds, by the rules above, written down a second time."""
    seen = [call for calls in rounds for call in calls]
    if len(seen) != len(set(seen)):
        yield "a call is made twice"
    for vehicle, calls in enumerate(rounds):
        day = vehicle // task["cars"]
        if calls and driving(task, calls) + sum(task["calls"][c]["minutes"] for c in calls) > task["limit"] + 1e-6:
            yield f"round {vehicle} is too long"
        if any(not task["calls"][c]["days"][day] for c in calls):
            yield f"round {vehicle} makes a call on a wrong day"
        classes = [task["calls"][c]["class"] for c in calls]
        if task["by_class"] and classes != sorted(classes):
            yield f"round {vehicle} is out of order"


def answer(task):
    rounds = solve(task) if task["seconds"] > 0 else [[] for _ in range(task["days"] * task["cars"])]
    made = {call for calls in rounds for call in calls}
    left = [call for call in range(len(task["calls"])) if call not in made]
    out = {
        "drive": sum(driving(task, calls) for calls in rounds),
        "left": left,
        "worth_left": sum(task["calls"][call]["worth"] for call in left),
        "rounds": rounds,
        "faults": list(faults(task, rounds)),
    }
    if "check" in task:
        out["check"] = list(faults(task, task["check"]))
        out["check_drive"] = sum(driving(task, calls) for calls in task["check"])
    return out


json.dump([answer(task) for task in json.load(sys.stdin)], sys.stdout)
