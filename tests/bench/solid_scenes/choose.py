"""Chooses a random scene: part, ground, light, camera. Everything drawn is written into the truth."""
import math
import random

BOARD = {"columns": 9, "rows": 6, "square_mm": 5.0}
BOARD_X, BOARD_Y = (-5.0, 45.0), (-30.0, 5.0)
PAPER = 0.78


def scene(seed, number, flat=False):
    rng = random.Random("solid scene %d/%d" % (seed, number))
    part = flat_disc(rng) if flat else solid(rng)
    ground = {"kind": "paper"} if flat else {"kind": rng.choice(["paper", "paper", "paper", "wood", "speckle"])}
    ground["seed"] = rng.randrange(1000)
    if ground["kind"] == "wood":
        ground["level"] = round(rng.uniform(0.15, 0.5), 3)
    elif ground["kind"] == "speckle":
        ground["level"] = round(rng.uniform(0.3, 0.6), 3)
    else:
        ground["level"] = PAPER
    light = lights(rng, "even" if flat else rng.choice(["tent", "window", "window", "two lights", "lamp", "table"]))
    part["material"] = material(rng, "dark" if flat else rng.choice(["dark", "dark", "grey", "coloured", "glossy"]))
    place(rng, part)
    camera = view(rng, part)
    luma = luma_of(part["material"]["rgb"])
    alike = abs(math.log((ground["level"] + 0.01) / (luma + 0.01))) < 0.45 and light["kind"] != "table"
    return {
        "seed": seed, "number": number, "board": BOARD, "part": part, "ground": ground, "light": light,
        "alike": alike, "camera": camera,
        "drawn": {"width_px": camera["width_px"], "height_px": camera["height_px"], "focal_px": camera["focal_px"],
                  "center_px": camera["center_px"]},
        "photograph": {"blur_px": round(rng.uniform(0.6, 1.6), 2), "full_well_e": rng.choice([3000, 6000, 12000]),
                       "read_noise_e": 6, "noise_seed": 1000 * seed + number,
                       "quality": rng.choice([85, 88, 90, 92, 95])},
    }


def luma_of(rgb):
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]


def solid(rng):
    """`outside`: the flange that stands on the paper; z_mm is the calliper height of its upper side."""
    radius = rng.uniform(2.5, 9.0)
    height = math.exp(rng.uniform(math.log(1.0), math.log(15.0)))
    edge = {"z_mm": round(height, 3), "diameter_mm": round(2 * radius, 3), "ovality_mm": 0.0,
            "chamfer_mm": 0.0, "fillet_mm": 0.0, "foot_chamfer_mm": 0.0}
    broken = rng.random()
    if broken < 0.5:
        edge["chamfer_mm"] = round(min(rng.uniform(0.05, 0.6), 0.3 * height), 3)
    elif broken < 0.75:
        edge["fillet_mm"] = round(min(rng.uniform(0.1, 0.8), 0.4 * height), 3)
    if rng.random() < 0.2:
        edge["foot_chamfer_mm"] = round(min(rng.uniform(0.05, 0.3), 0.2 * height), 3)
    part = {"outside": edge}
    inner = 0.92 * (radius - max(edge["chamfer_mm"], edge["fillet_mm"]))
    if rng.random() < 0.35 and inner > 2.0:
        hub = rng.uniform(0.5, 0.95) * inner
        step = rng.uniform(0.4, 3.0)
        part["hub"] = {"diameter_mm": round(2 * hub, 3), "z_mm": round(height + step, 3),
                       "chamfer_mm": round(rng.choice([0.0, 0.1, 0.2]), 3)}
        inner = hub - 0.3
    elif rng.random() < 0.15 and inner > 2.5:
        outer = rng.uniform(0.7, 0.95) * inner
        part["groove"] = {"outer_diameter_mm": round(2 * outer, 3), "inner_diameter_mm": round(2 * outer - 1.0, 3),
                          "depth_mm": round(min(0.5, 0.4 * height), 3)}
        inner = outer - 0.8
    if rng.random() < 0.65 and inner > 1.0:
        top = part["hub"]["z_mm"] if "hub" in part else edge["z_mm"]
        bore = {"diameter_mm": round(2 * rng.uniform(0.35, 0.8) * inner, 3), "z_mm": top, "chamfer_mm": 0.0}
        bore["depth_mm"] = top if rng.random() < 0.7 else round(rng.uniform(0.5, 0.8) * top, 3)
        if rng.random() < 0.3:
            bore["chamfer_mm"] = round(min(0.2, 0.3 * (inner - bore["diameter_mm"] / 2)), 3)
        part["bore"] = bore
    if rng.random() < 0.25:
        edge["ovality_mm"] = round(rng.uniform(0.003, 0.01) * edge["diameter_mm"], 4)
        edge["major_angle_deg"] = round(rng.uniform(0, 180), 1)
    return part


def flat_disc(rng):
    return {"outside": {"z_mm": 0.01, "diameter_mm": 12.4, "ovality_mm": 0.0, "chamfer_mm": 0.0, "fillet_mm": 0.0,
                        "foot_chamfer_mm": 0.0}}


def material(rng, kind):
    def grey(low, high):
        v = rng.uniform(low, high)
        return [round(v * rng.uniform(0.95, 1.05), 4) for _ in range(3)]
    if kind == "dark":
        return {"kind": kind, "rgb": grey(0.03, 0.09), "gloss": 0.0}
    if kind == "grey":
        return {"kind": kind, "rgb": grey(0.12, 0.42), "gloss": 0.0}
    if kind == "glossy":
        return {"kind": kind, "rgb": grey(0.03, 0.25), "gloss": round(rng.uniform(0.1, 0.4), 3)}
    strong = rng.choice([[0.55, 0.08, 0.06], [0.06, 0.12, 0.45], [0.08, 0.35, 0.12], [0.65, 0.45, 0.08],
                         [0.45, 0.2, 0.08]])
    return {"kind": kind, "rgb": [round(v * rng.uniform(0.8, 1.2), 4) for v in strong], "gloss": 0.0}


def lights(rng, kind):
    """Each lamp: direction to it, side of its square in mm, distance, share of the light on the paper, colour."""
    exposure = round(rng.uniform(0.7, 1.0), 3)
    turn = rng.uniform(0, 360)

    def lamp(azimuth, elevation, side, distance, share, rgb=(1, 1, 1)):
        return {"azimuth_deg": round(azimuth % 360, 1), "elevation_deg": round(elevation, 1), "side_mm": round(side),
                "distance_mm": distance, "share": round(share, 3), "rgb": list(rgb)}
    if kind == "even":  # without shadows, for the check
        ambient, lamps = 1.0, []
    elif kind == "tent":
        lamps = [lamp(0, 89.9, 900, 700, 0.5)] + [lamp(turn + 90 * k, 32, 700, 700, 0.10) for k in range(4)]
        ambient = 0.1
    elif kind == "window":
        ambient = round(rng.uniform(0.25, 0.5), 3)
        lamps = [lamp(turn, rng.uniform(25, 55), rng.uniform(500, 1000), 1200, 1 - ambient)]
    elif kind == "two lights":
        ambient = round(rng.uniform(0.1, 0.3), 3)
        first = (1 - ambient) * rng.uniform(0.45, 0.7)
        lamps = [lamp(turn, rng.uniform(30, 65), rng.uniform(40, 120), 600, first, (1, 0.97, 0.9)),
                 lamp(turn + rng.uniform(80, 180), rng.uniform(30, 65), rng.uniform(40, 120), 600,
                      1 - ambient - first, (0.93, 0.97, 1))]
    elif kind == "lamp":
        ambient = round(rng.uniform(0.08, 0.25), 3)
        lamps = [lamp(turn, rng.uniform(35, 70), rng.uniform(15, 60), 500, 1 - ambient)]
    else:  # light table: the ground shines, a weak even light from above
        ambient = 0.04
        lamps = [lamp(0, 89.9, 900, 700, round(rng.uniform(0.05, 0.15), 3))]
    return {"kind": kind, "exposure": exposure, "ambient": ambient, "lamps": lamps}


def place(rng, part):
    radius = part["outside"]["diameter_mm"] / 2
    gap = radius + rng.uniform(2.0, 8.0)
    side = rng.random()
    if side < 0.5:
        at = [BOARD_X[1] + gap, rng.uniform(-28, 3)]
    elif side < 0.7:
        at = [BOARD_X[0] - gap, rng.uniform(-28, 3)]
    else:
        at = [rng.uniform(0, 40), BOARD_Y[0] - gap]
    part["center_mm"] = [round(v, 3) for v in at]


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def unit(a):
    n = math.sqrt(dot(a, a))
    return [x / n for x in a]


def pose(position, aim, turn_deg):
    """Rows: the camera's x (right), y (down), z (forward) in the board frame."""
    z = unit([a - p for a, p in zip(aim, position)])
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    right = [c, s, 0.0]
    x = unit([r - dot(right, z) * k for r, k in zip(right, z)])
    return [x, cross(z, x), z]


def project(camera, point):
    rows, at = camera["rotation_from_board"], camera["position_mm"]
    v = [dot(row, [p - a for p, a in zip(point, at)]) for row in rows]
    return [camera["focal_px"] * v[0] / v[2] + camera["center_px"][0],
            camera["focal_px"] * v[1] / v[2] + camera["center_px"][1]]


def everything_seen(camera, part):
    top = part.get("hub", part["outside"])["z_mm"]
    radius = part["outside"]["diameter_mm"] / 2 * 1.25 + 1
    points = [(x, y, 0.0) for x in BOARD_X for y in BOARD_Y]
    for k in range(12):
        a = math.radians(30 * k)
        for z in (0.0, top):
            points.append((part["center_mm"][0] + radius * math.cos(a), part["center_mm"][1] + radius * math.sin(a), z))
    margin = 12
    return all(margin < px[0] < camera["width_px"] - margin and margin < px[1] < camera["height_px"] - margin
               for px in (project(camera, p) for p in points))


def view(rng, part):
    """Off axis by 0 to 60 mm (part from the camera's foot point), tilt 0 to 25 degrees, all of it in the picture."""
    while True:
        off, towards = rng.uniform(0, 60), rng.uniform(0, 2 * math.pi)
        for _ in range(400):
            height = rng.uniform(180, 300)
            width_px, height_px = rng.choice([(1000, 750), (1200, 900), (1400, 1050)])
            focal = round(rng.uniform(10, 15) * height, 1)
            foot = [part["center_mm"][0] + off * math.cos(towards), part["center_mm"][1] + off * math.sin(towards)]
            tilt, lean = math.radians(rng.uniform(0, 25)), rng.uniform(0, 2 * math.pi)
            aim = [foot[0] + height * math.tan(tilt) * math.cos(lean),
                   foot[1] + height * math.tan(tilt) * math.sin(lean), 0.0]
            position = foot + [height]
            camera = {"width_px": width_px, "height_px": height_px, "focal_px": focal,
                      "center_px": [(width_px - 1) / 2, (height_px - 1) / 2], "distortion": [0, 0, 0, 0, 0],
                      "position_mm": position, "rotation_from_board": pose(position, aim, rng.uniform(-12, 12)),
                      "tilt_deg": math.degrees(tilt), "off_axis_mm": off}
            if everything_seen(camera, part):
                slant = height / math.cos(tilt)
                camera["px_per_mm"] = focal / slant
                part["near_px"] = [round(v) for v in project(camera, part["center_mm"] + [part["outside"]["z_mm"]])]
                return camera
            towards = rng.uniform(0, 2 * math.pi)
