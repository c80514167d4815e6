"""Shortest paths by networkx. In: {"edges": [[a, b, length]], "nodes": [...]}. Out: distances between the nodes, row by row."""
import json
import sys

import networkx as nx

given = json.load(sys.stdin)
graph = nx.Graph()
graph.add_weighted_edges_from(given["edges"])
rows = []
for node in given["nodes"]:
    lengths = nx.single_source_dijkstra_path_length(graph, node)
    rows.append([lengths[other] for other in given["nodes"]])
json.dump(rows, sys.stdout)
