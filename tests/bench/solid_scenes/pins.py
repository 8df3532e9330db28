"""A gauge pin in the corner of the picture: the scenes of `measure --reference`."""
import math
import random

import choose

PIN = {"diameter_mm": 12.0, "z_mm": 6.0, "chamfer_mm": 0.1}


def scene(seed, number):
    """A part 12.4 mm across and 6 mm high on one side of the board, the pin on another; part and pin are steel or
    plastic of any shade that stands out from the ground, each by itself."""
    rng = random.Random("pins %d/%d" % (seed, number))
    tries = 0
    while True:
        tries += 1
        one = choose.scene(3000 * seed + number, tries)
        part = one["part"]
        # Made 12.4 mm across and 6 mm high: what stands on it or is sunk into it would not fit any more.
        for name in ("hub", "groove", "bore"):
            part.pop(name, None)
        edge = part["outside"]
        edge.update(diameter_mm=12.4, z_mm=6.0, ovality_mm=0.0)
        ground = one["ground"]["level"]
        steel = rng.choice([0.05, 0.08, 0.25, 0.35])  # blackened shank or bright steel
        if one["alike"] or one["ground"]["kind"] == "speckle":
            continue
        if one["light"]["kind"] != "table" and abs(math.log((ground + 0.01) / (steel + 0.01))) < 0.45:
            continue
        pin = dict(PIN, level=steel, center_mm=beside(rng, part["center_mm"]))
        one["pin"] = pin
        if not seen(one["camera"], part) or not seen(one["camera"], {"center_mm": pin["center_mm"], "outside": PIN}):
            continue
        part["near_px"] = near(one["camera"], part["center_mm"])
        pin["near_px"] = near(one["camera"], pin["center_mm"])
        one["more_objects"] = cylinder(pin, one["light"])
        one["seed"], one["number"] = seed, number
        return one


def near(camera, center):
    return [round(v) for v in choose.project(camera, center + [PIN["z_mm"]])]


def seen(camera, part):
    return choose.everything_seen(camera, part)


def beside(rng, other):
    """Beside the board, at least 22 mm from the part's middle."""
    while True:
        gap = PIN["diameter_mm"] / 2 + rng.uniform(2.0, 6.0)
        at = rng.choice([[choose.BOARD_X[1] + gap, rng.uniform(-28, 3)], [choose.BOARD_X[0] - gap, rng.uniform(-28, 3)],
                         [rng.uniform(0, 40), choose.BOARD_Y[0] - gap]])
        if math.dist(at, other) > 22:
            return [round(v, 3) for v in at]


def cylinder(pin, light):
    x, y = pin["center_mm"]
    r, top, c = pin["diameter_mm"] / 2, pin["z_mm"], pin["chamfer_mm"]
    points = [(0, 0), (r, 0), (r, top - c), (r - c, top), (0, top), (0, 0)]
    return ("lathe { linear_spline %d, %s rotate x*90 translate <%g,%g,0> pigment { rgb %g } finish { ambient %g diffuse 1"
            " specular 0.3 roughness 0.03 reflection { 0.05 } } }\n" % (
                len(points), ", ".join("<%g,%g>" % p for p in points), x, y, pin["level"],
                light["exposure"] * light["ambient"]))
