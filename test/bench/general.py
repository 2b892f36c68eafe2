# What a script of general tools makes of the same logs: yields, a plain filter, a grid by inverse distances.
# python3 general.py out.csv log.csv…
import sys

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

out, *logs = sys.argv[1:]
parts = []
for log in logs:
    rows = pd.read_csv(log)
    rows["time"] = pd.to_datetime(rows["time"])
    # Twelve seconds from header to sensor, as everybody takes it.
    rows["flow_kg_s"] = rows["flow_kg_s"].shift(-12)
    parts.append(rows)
rows = pd.concat(parts).dropna(subset=["flow_kg_s", "distance_m", "swath_m"])
area_m2 = rows["distance_m"] * rows["swath_m"]
rows = rows[area_m2 > 1]
area_m2 = area_m2[area_m2 > 1]
rows["yield_kg_ha"] = rows["flow_kg_s"] * rows["interval_s"] / area_m2 * 10_000 * (100 - rows["moisture_pct"]) / 84.5
middle, spread = rows["yield_kg_ha"].mean(), rows["yield_kg_ha"].std()
rows = rows[(rows["yield_kg_ha"] - middle).abs() < 3 * spread]
x = rows["lon"].to_numpy() * 111_320 * np.cos(np.radians(rows["lat"].mean()))
y = rows["lat"].to_numpy() * 110_540
tree = cKDTree(np.column_stack([x, y]))
east, north = np.meshgrid(np.arange(x.min(), x.max(), 10), np.arange(y.min(), y.max(), 10))
far, near = tree.query(np.column_stack([east.ravel(), north.ravel()]), k=12, distance_upper_bound=20)
weight = np.where(np.isfinite(far), 1 / np.maximum(far, 1) ** 2, 0)
values = np.append(rows["yield_kg_ha"].to_numpy(), 0)[near]
grid = (weight * values).sum(axis=1) / np.where(weight.sum(axis=1) > 0, weight.sum(axis=1), np.nan)
rows.to_csv(out, index=False)
np.savetxt(out + ".grid", grid.reshape(east.shape), fmt="%.1f")
