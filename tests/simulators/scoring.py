"""How well marked stretches of a simulated county match the hotspots planted in it."""

import numpy as np
import shapely

CLOSE_M = 150.0


def stretches_of(land, hotspots):
    """(stretches,) Share of each stretch that lies in a table of hotspots (road, road_part, from_m, to_m)."""
    table = land.table
    share = np.zeros(len(table))
    for row in hotspots.itertuples():
        on = ((table["road"] == row.road) & (table["road_part"] == row.road_part)).to_numpy()
        low, high = np.maximum(table["from_m"], row.from_m), np.minimum(table["to_m"], row.to_m)
        share = np.maximum(share, np.where(on, np.clip((high - low) / (table["to_m"] - table["from_m"]), 0, 1), 0))
    return share


def score(land, hot, share, rate, surprise):
    """
    Power (planted hotspots touched), precision (found length within 150 m of one), recall (planted length found),
    and PAI at 1 % of length of the true rate, ranked by surprise.
    """
    length_m = land.stretches.length_m
    found_m = share * length_m
    result = {"any": bool(found_m.sum() > 0), "found_m": found_m.sum()}
    if len(hot):
        planted = hot.any(axis=0)
        zone = shapely.buffer(shapely.union_all(land.table.geometry.to_numpy()[planted]), CLOSE_M)
        near = shapely.intersects_xy(zone, land.x_m, land.y_m)
        result["power"] = np.mean([found_m[one].sum() > 0 for one in hot])
        result["right_m"] = found_m[near].sum()
        result["recall"] = (found_m[planted].sum()) / length_m[planted].sum()
        order = np.argsort(-np.nan_to_num(surprise), kind="stable")
        top = order[np.cumsum(length_m[order]) <= 0.01 * length_m.sum()]
        result["pai"] = (rate[top].sum() / rate.sum()) / (length_m[top].sum() / length_m.sum())
    return result
