"""Weighted k-means by scikit-learn. In: {"points": [[x, y]], "weights": [...], "k": n}. Out: {"inertia", "centres"}."""
import json
import sys

import numpy as np
from sklearn.cluster import KMeans

given = json.load(sys.stdin)
model = KMeans(n_clusters=given["k"], n_init=10, random_state=0, tol=1e-6)
model.fit(np.array(given["points"]), sample_weight=np.array(given["weights"]))
json.dump({"inertia": model.inertia_, "centres": model.cluster_centers_.tolist()}, sys.stdout)
