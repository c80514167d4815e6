"""Shortest paths on crossing lines: noded by shapely (snap rounding to 0.1 mm), walked by networkx.

In: {"lines": [[x1, y1, x2, y2]], "places": [[x, y]] on ends of lines}. Out: distances between the places, row by row.
"""
import json
import math
import sys

import networkx as nx
import shapely

given = json.load(sys.stdin)
lines = [shapely.LineString([(a, b), (c, d)]) for a, b, c, d in given["lines"]]
noded = shapely.union_all(lines, grid_size=1e-4)
graph = nx.Graph()
for part in shapely.get_parts(noded):
    at = [(round(x, 4), round(y, 4)) for x, y in shapely.get_coordinates(part)]
    for a, b in zip(at, at[1:]):
        graph.add_edge(a, b, weight=math.dist(a, b))
nodes = list(graph.nodes)
places = [min(nodes, key=lambda node: math.dist(node, place)) for place in given["places"]]
rows = []
for node in places:
    lengths = nx.single_source_dijkstra_path_length(graph, node)
    rows.append([lengths[other] for other in places])
json.dump(rows, sys.stdout)
