"""Several cameras on one still part: the sets of `measure --one-part`."""
import math
import random

import choose


def views(seed, number, count):
    """Scenes that share part, ground and light; the camera moved by 10 to 20 degrees and more between them."""
    rng = random.Random("views %d/%d" % (seed, number))
    tries = 0
    while True:
        tries += 1
        first = choose.scene(1000 * seed + number, tries)
        edge = first["part"]["outside"]
        if first["alike"] or first["ground"]["kind"] == "speckle" or not 4 < edge["diameter_mm"] / 2 < 8:
            continue
        if 2 < edge["z_mm"] < 9:
            break
    if number % 2 == 0:  # the figures' own: a rim 6 mm high, 12.4 mm across
        scale_part(first["part"], 12.4, 6.0)
    cameras = [camera for k in range(count) for camera in [moved(rng, first["part"], k, count)]]
    return [dict(first, camera=camera, number=number, view=k, drawn=drawn(camera),
                 photograph=dict(first["photograph"], noise_seed=100000 * seed + 100 * number + k))
            for k, camera in enumerate(cameras)]


def scale_part(part, diameter, height):
    edge = part["outside"]
    wide, high = diameter / edge["diameter_mm"], height / edge["z_mm"]
    for name in ("outside", "hub", "bore", "groove"):
        for key in part.get(name, {}):
            if key in ("diameter_mm", "outer_diameter_mm", "inner_diameter_mm"):
                part[name][key] = round(part[name][key] * wide, 4)
            elif key in ("z_mm", "depth_mm"):
                part[name][key] = round(part[name][key] * high, 4)


def moved(rng, part, k, count):
    """The first from above, the others leant 10 to 20 degrees, evenly spread about the part."""
    while True:
        height = rng.uniform(205, 235)
        width_px, height_px = 1000, 750
        focal = 12.0 * 220
        lean = math.radians(rng.uniform(0, 4) if k == 0 else rng.uniform(10, 20))
        way = 2 * math.pi * ((k - 1) / max(1, count - 1)) + rng.uniform(-0.5, 0.5)
        aim = [0.5 * (part["center_mm"][0] + 20) + rng.uniform(-4, 4),
               0.5 * (part["center_mm"][1] - 12.5) + rng.uniform(-4, 4), 0.0]
        at = [aim[0] + height * math.sin(lean) * math.cos(way), aim[1] + height * math.sin(lean) * math.sin(way),
              height * math.cos(lean)]
        camera = {"width_px": width_px, "height_px": height_px, "focal_px": focal,
                  "center_px": [(width_px - 1) / 2, (height_px - 1) / 2], "distortion": [0, 0, 0, 0, 0],
                  "position_mm": at, "rotation_from_board": choose.pose(at, aim, rng.uniform(-12, 12)),
                  "tilt_deg": math.degrees(lean), "px_per_mm": focal / height}
        if choose.everything_seen(camera, part):
            part["near_px"] = [round(v) for v in choose.project(camera, part["center_mm"] + [part["outside"]["z_mm"]])]
            return camera


def drawn(camera):
    return {key: camera[key] for key in ("width_px", "height_px", "focal_px", "center_px")}
