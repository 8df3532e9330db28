"""Writes a scene as povray's input, traces it, and writes the camera's calibration."""
import math
import os
import re
import subprocess

FILLET_STEPS = 16


def vec(v):
    return "<%s>" % ",".join("%.10g" % x for x in v)


def fillet(center_r, center_z, radius):
    """From straight up the wall to flat on top."""
    return [(center_r + radius * math.cos(a), center_z + radius * math.sin(a))
            for a in (math.pi / 2 * k / FILLET_STEPS for k in range(FILLET_STEPS + 1))]


def profile(part):
    """Half section (r, z), closed, counter-clockwise from the foot."""
    edge = part["outside"]
    radius, top = edge["diameter_mm"] / 2, edge["z_mm"]
    foot = edge["foot_chamfer_mm"]
    points = [(radius - foot, 0.0)]
    if foot:
        points.append((radius, foot))
    if "crown_mm" in edge:  # a parabola over the whole height
        points = [(radius - edge["crown_mm"] * (2 * k / 60 - 1) ** 2, top * k / 60) for k in range(61)]
    elif edge["chamfer_mm"]:
        points += [(radius, top - edge["chamfer_mm"]), (radius - edge["chamfer_mm"], top)]
    elif edge["fillet_mm"]:
        points += fillet(radius - edge["fillet_mm"], top - edge["fillet_mm"], edge["fillet_mm"])
    else:
        points.append((radius, top))
    if "groove" in part:
        g = part["groove"]
        outer, inner, low = g["outer_diameter_mm"] / 2, g["inner_diameter_mm"] / 2, top - g["depth_mm"]
        points += [(outer, top), (outer, low), (inner, low), (inner, top)]
    if "hub" in part:
        hub = part["hub"]
        r, c = hub["diameter_mm"] / 2, hub["chamfer_mm"]
        points += [(r, top), (r, hub["z_mm"] - c)] + ([(r - c, hub["z_mm"])] if c else [])
        top = hub["z_mm"]
    if "bore" in part and "off_mm" not in part["bore"]:
        bore = part["bore"]
        r, c = bore["diameter_mm"] / 2, bore["chamfer_mm"]
        points += ([(r + c, top)] if c else []) + [(r, top - c)]
        floor = top - bore["depth_mm"]
        points.append((r, max(floor, 0.0)))
        if floor > 1e-6:
            points += [(0.0, floor), (0.0, 0.0)]
    else:
        points += [(0.0, top), (0.0, 0.0)]
    return points + points[:1]


GRAIN = {
    "paper": "pigment { bozo color_map { [0 rgb %(lo)s] [1 rgb %(hi)s] } scale 0.25 translate %(seed)d }",
    "wood": "pigment { bozo turbulence 0.25 color_map { [0 rgb %(lo)s*<1,.82,.62>] [.45 rgb %(hi)s*<1,.8,.6>]"
            " [.55 rgb %(lo)s*<.85,.66,.48>] [1 rgb %(hi)s*<1,.8,.6>] } scale <18,1.3,5> rotate z*%(turn)d"
            " translate %(seed)d }",
    "speckle": "pigment { bozo color_map { [0 rgb %(lo)s] [1 rgb %(hi)s] } scale 0.4 translate %(seed)d }",
}
SPREAD = {"paper": 0.015, "wood": 0.35, "speckle": 0.6}


def grain(kind, level, seed):
    spread = SPREAD[kind]
    return GRAIN[kind] % {"lo": "%.4f" % (level * (1 - spread)), "hi": "%.4f" % (level * (1 + spread)), "seed": seed,
                          "turn": 7 * seed % 180}


def ground(scene):
    """One plane: board, the sheet it is printed on, and what the sheet lies on."""
    board, g = scene["board"], scene["ground"]
    s = board["square_mm"]
    x0, x1, y0, y1 = -s, board["columns"] * s, -board["rows"] * s, s
    rim = 2.0
    sheet = 1e6 if g["kind"] == "paper" else rim

    def inside(grow):
        return "max(max(%g-x,x-%g),max(%g-y,y-%g))" % (x0 - grow, x1 + grow, y0 - grow, y1 + grow)
    def black_at(dx, dy):
        x, y = "(x%+g)" % dx, "(y%+g)" % dy
        here = "max(max(%g-%s,%s-%g),max(%g-%s,%s-%g))" % (x0, x, x, x1, y0, y, y, y1)
        return "select(%s, abs(mod(floor(%s/%g)+floor(%s/%g)+1000,2)), 0)" % (here, x, s, y, s)
    ink = board.get("ink_mm", 0.0)  # every black edge is printed this much outwards
    corners = [black_at(dx, dy) for dx in (-ink, ink) for dy in (-ink, ink)] if ink else [black_at(0, 0)]
    pattern = "max(%s,select(%s, 0.5, 0))" % (",".join(corners), inside(sheet))
    if board.get("stretch_y"):  # printed longer along y by this ratio
        pattern = re.sub(r"\by\b", "(y/%.10g)" % (1 + board["stretch_y"]), pattern)
    shines = scene["light"]["kind"] == "table"
    exposure = scene["light"]["exposure"]
    finish = "finish { ambient %g diffuse %g }" % ((exposure, 0.0) if shines else
                                                  (exposure * scene["light"]["ambient"], 1.0))
    return """plane { z, 0
  pigment { function { %s } pigment_map {
    [0 %s] [0.25 %s] [0.25 %s] [0.75 %s] [0.75 rgb 0.045] [1 rgb 0.045] } } %s }
""" % (pattern, *[bare(grain(g["kind"], g["level"], g["seed"]))] * 2, *[bare(grain("paper", 0.78, 3))] * 2, finish)


def bare(pigment):
    return pigment[len("pigment {"):pigment.rindex("}")]


def body(scene):
    part, light = scene["part"], scene["light"]
    edge, m = part["outside"], part["material"]
    points = profile(part)
    stretch = edge["ovality_mm"] / (2 * edge["diameter_mm"])
    turn = edge.get("major_angle_deg", 0.0)
    gloss = m["gloss"]
    finish = "finish { ambient %g diffuse 1 %s }" % (
        light["exposure"] * light["ambient"],
        "specular %g roughness 0.03 reflection { %g }" % (gloss, 0.12 * gloss) if gloss else "")
    solid = "lathe { linear_spline %d, %s rotate x*90 scale <%.10g, %.10g, 1> rotate z*%g }" % (
        len(points), ", ".join(vec(p) for p in points), 1 + stretch, 1 - stretch, turn)
    if "nib" in part:
        solid = "union { %s %s }" % (solid, nib(part))
    if "round_hub" in part:
        solid = "union { %s %s }" % (solid, hub_of_its_own(part["round_hub"]))
    if "bore" in part and "off_mm" in part["bore"]:
        solid = "difference { %s %s }" % (solid, bore_off_middle(part["bore"]))
    return "object { %s translate %s pigment { rgb %s } %s }\n" % (solid, vec(part["center_mm"] + [0.0]), vec(m["rgb"]),
                                                                  finish)


def nib(part):
    """An upright rib on the wall: a cylinder that stands out by height_mm and leaves the wall width_mm apart."""
    n, radius = part["nib"], part["outside"]["diameter_mm"] / 2
    half, high = n["width_mm"] / 2, n["height_mm"]
    r = (half * half + high * high) / (2 * high)
    a, out = math.radians(n["at_deg"]), radius + high - r
    x, y, top = out * math.cos(a), out * math.sin(a), part["outside"]["z_mm"] - part["outside"]["chamfer_mm"]
    return "cylinder { %s, %s, %.10g }" % (vec([x, y, 0.0]), vec([x, y, top]), r)


def hub_of_its_own(hub):
    """Round, whatever the outside is."""
    r, low, top, c = hub["diameter_mm"] / 2, hub["low_mm"], hub["z_mm"], hub["chamfer_mm"]
    points = [(0.0, low - 0.5), (r, low - 0.5), (r, top - c), (r - c, top), (0.0, top), (0.0, low - 0.5)]
    return "lathe { linear_spline %d, %s rotate x*90 }" % (len(points), ", ".join(vec(p) for p in points))


def bore_off_middle(bore):
    x, y = bore["off_mm"]
    low = bore["z_mm"] - bore["depth_mm"]
    return "cylinder { %s, %s, %.10g }" % (vec([x, y, low - (0.1 if low < 1e-6 else 0)]), vec([x, y, bore["z_mm"] + 1]),
                                          bore["diameter_mm"] / 2)


def lamp(one, middle, exposure):
    a, e = math.radians(one["azimuth_deg"]), math.radians(one["elevation_deg"])
    to = [math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)]
    across = [-math.sin(a), math.cos(a), 0.0]
    up = [-math.sin(e) * math.cos(a), -math.sin(e) * math.sin(a), math.cos(e)]
    at = [m + one["distance_mm"] * t for m, t in zip(middle, to)]
    strength = exposure * one["share"] / math.sin(e)
    points = 17 if one["side_mm"] > 200 else 9
    return "light_source { %s rgb %s area_light %s %s %d %d adaptive 1 }\n" % (
        vec(at), vec([strength * c for c in one["rgb"]]), vec([one["side_mm"] * v for v in across]),
        vec([one["side_mm"] * v for v in up]), points, points)


def view(camera, drawn):
    """Pixel (0, 0) is the middle of the first pixel."""
    x, y, z = camera["rotation_from_board"]
    f = drawn["focal_px"]
    across, down = (drawn["width_px"] - 1) / 2 - drawn["center_px"][0], (drawn["height_px"] - 1) / 2 - drawn["center_px"][1]
    ahead = [k + (across * i + down * j) / f for i, j, k in zip(x, y, z)]
    return "camera { perspective location %s direction %s right %s up %s }\n" % (
        vec(camera["position_mm"]), vec(ahead), vec([drawn["width_px"] / f * v for v in x]),
        vec([-drawn["height_px"] / f * v for v in y]))


def source(scene):
    light = scene["light"]
    middle = scene["part"]["center_mm"] + [0.0]
    text = "#version 3.7;\nglobal_settings { assumed_gamma 1 max_trace_level 4 }\n"
    text += "sky_sphere { pigment { gradient z color_map { [0 rgb 0.1] [1 rgb 0.7] } } }\n"
    text += view(scene["camera"], scene["drawn"])
    text += "".join(lamp(one, middle, light["exposure"]) for one in light["lamps"])
    return text + ground(scene) + scene.get("more_objects", "") + body(scene)


def trace(scene, work, out):
    path = os.path.join(work, "scene.pov")
    with open(path, "w") as file:
        file.write(source(scene))
    drawn = scene["drawn"]
    ran = subprocess.run(["povray", "+I" + path, "+O" + out, "+FP16", "File_Gamma=1.0", "-D", "+W%d" % drawn["width_px"],
                          "+H%d" % drawn["height_px"], "+A0.05", "+AM2", "+R2", "-J", "+WT1"],
                         capture_output=True, text=True)
    if ran.returncode or not os.path.exists(out):
        raise RuntimeError("povray: " + ran.stderr[-2000:])


def calibration(camera):
    """The known lens, as well known as ten good views of a board make it."""
    k1, k2, p1, p2, k3 = camera["distortion"]
    names = ["focal_x_px", "focal_y_px", "center_x_px", "center_y_px", "k1", "k2", "p1", "p2", "k3"]
    sd = [0.5, 0.5, 0.5, 0.5, 3e-4, 1e-3, 1e-5, 1e-5, 1e-6]
    return {"format": "rondure-calibration", "version": 1, "kind": "camera", "when": "2026-01-01T00:00:00Z",
            "picture": {"width_px": camera["width_px"], "height_px": camera["height_px"], "orientation": 1},
            "lens": {"focal_x_px": camera["focal_px"], "focal_y_px": camera["focal_px"],
                     "center_x_px": camera["center_px"][0], "center_y_px": camera["center_px"][1],
                     "k1": k1, "k2": k2, "p1": p1, "p2": p2, "k3": k3},
            "covariance_of": names,
            "covariance": [[sd[i] ** 2 if i == j else 0 for j in range(9)] for i in range(9)],
            "ink_growth_mm": 0.0, "u_ink_growth_mm": 0.002,
            "tone": {"curve": "srgb", "learned": True}, "warnings": []}
