"""A shot's lamps, sky and sun as emitters of the renderer, by the formulas of docs/method.md: beams by their two
angles, even areas, barn doors before an even mouth, the sky and the sun through the openings.

Lamps have no body: they are only aimed at (a shadow ray from the lit point), never met by a path.
"""

import math

import colour
import drjit as dr
import mitsuba as mi
import numpy as np

import traced_world as tw

NM = np.arange(380.0, 781.0, 5.0)
CMF = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(colour.SpectralShape(380, 780, 5)).values
TO_SRGB = np.array([[3.2404542, -1.5371385, -0.4985314], [-0.9692660, 1.8760108, 0.0415560], [0.0556434, -0.2040259, 1.0572252]])
LN2, LN10 = math.log(2.0), math.log(10.0)


def planck(k):
    return NM**-5.0 / np.expm1(1.4388e7 / (NM * k))


def xyz(power):
    return power @ CMF


def level(power):
    return power / xyz(power)[1]


def cct(power):
    X, Y, Z = xyz(power)
    d = X + 15 * Y + 3 * Z
    return float(colour.temperature.uv_to_CCT_Ohno2013(np.array([4 * X / d, 6 * Y / d]))[0])


def spectrum(f):
    """A lamp's spectrum behind its gels, Y = 1, and the share of its light that gels let through."""
    kind = f.get("spectrum", {"type": "planck"})
    if kind["type"] == "planck":
        power = planck(f["cct_k"])
    elif kind["type"] == "daylight":
        power = daylight(f["cct_k"])
    elif kind["type"] == "cie":
        power = colour.SDS_ILLUMINANTS[kind["symbol"]].copy().align(colour.SpectralShape(380, 780, 5)).values
    else:
        nm, value = np.array(kind["points"]).T
        power = np.interp(NM, nm, value)
    dimmer = f.get("dimmer", 1.0)
    if f["lamp"] == "tungsten" and dimmer < 1.0:
        k = f["cct_k"] if kind["type"] == "planck" else cct(power)
        power = power * planck(k * dimmer ** (0.42 / 3.38)) / planck(k)
    power, share = level(power), 1.0
    for gel in f.get("gels", []):
        if gel["type"] == "correction":
            k = cct(power)
            power = power * planck(1e6 / (1e6 / k + gel["mired_shift"])) / planck(k)
            share *= gel["transmittance"]
        else:
            nm, value = np.array(gel["points"]).T
            power = power * np.interp(NM, nm, value)
            share *= xyz(power)[1]
        power = level(power)
    return power, share


def daylight(k):
    sd = colour.sd_CIE_illuminant_D_series(colour.temperature.CCT_to_xy_CIE_D(k), M1_M2_rounding=False)
    return sd.copy().align(colour.SpectralShape(380, 780, 5)).values


def rgb(power):
    return TO_SRGB @ xyz(level(power))


def rated_lm(f):
    if f.get("output_lm") is not None:
        return f["output_lm"]
    head = f["head"]
    # Usual efficacies and efficiencies (common practice; docs/method.md and the heads' documentation).
    efficacy = {"tungsten": 25.0, "led": 100.0, "fluorescent": 80.0}[f["lamp"]]
    if f["lamp"] == "tungsten" and head["type"] == "work-light":
        efficacy = 19.0
    if f["lamp"] == "fluorescent" and head["type"] in ("bare-bulb", "practical"):
        efficacy = 60.0
    share = {"open-face": 0.6, "soft-box": 0.45, "panel": 0.8, "fluorescent-bank": 0.65, "work-light": 0.6, "bare-bulb": 1.0, "practical": 0.6}
    if head["type"] == "fresnel":
        # A 6-inch lens, 0.15 m: what of the lamp's light it takes in, a mirror behind and the lens's own loss.
        inverse = 1 / 0.15 + math.tan(math.radians(20.0 * head["flood"])) / 0.075
        eta = 0.5 * (1 - math.cos(math.atan(0.075 * inverse))) * 1.8 * 0.8
    else:
        eta = share[head["type"]]
    return f["watts"] * efficacy * eta


def aim(f):
    pan, tilt = f.get("pan_deg", 0.0), math.radians(f.get("tilt_deg", 0.0))
    flat = tw.bearing(pan)
    axis = np.array([flat[0] * math.cos(tilt), flat[1] * math.cos(tilt), math.sin(tilt)])
    right = np.array([*tw.bearing(pan + 90.0), 0.0])
    return axis, right, np.cross(right, axis)


def lamp_of(f):
    """A lamp as the renderer's emitter wants it: numbers only."""
    if f.get("candela") is not None:
        raise ValueError("measured heads are not traced here")
    power, passed = spectrum(f)
    sheet = f.get("diffusion")
    gain = f.get("dimmer", 1.0) * passed * (sheet["transmittance"] if sheet else 1.0) * 2.0 ** -f.get("scrim_stops", 0.0)
    axis, right, up = aim(f)
    out = {"at": [*f["position_m"], f["height_m"]], "axis": axis, "right": right, "up": up, "doors": None}
    lm, head = rated_lm(f), f["head"]
    spread = 2.0 * sheet["spread_deg"] if sheet else 0.0
    if head["type"] in ("soft-box", "panel", "fluorescent-bank"):
        w, h = head["width_m"], head["height_m"]
        m = 1.0
        if head["type"] == "panel" and not sheet:
            m = max(1.0, -LN2 / math.log(math.cos(math.radians(head["beam_deg"] / 2))))
        grid = f.get("grid_cutoff_deg")
        if grid is not None:
            m = 1.0 if head["type"] != "panel" or sheet else m
        out |= {"kind": "area", "size": (w, h), "scale": lm * (m + 1) / (2 * math.pi * w * h), "m": m,
                "grid": None if grid is None else math.tan(math.radians(grid))}
    elif head["type"] in ("bare-bulb", "practical"):
        out |= {"kind": "point", "scale": lm / (4 * math.pi), "beam": None}
    else:
        angles = (10.0 + 40.0 * head["flood"], 18.0 + 46.0 * head["flood"]) if head["type"] == "fresnel" else (head["beam_deg"], head["field_deg"])
        beam, field = (min(math.hypot(a, spread), 170.0) for a in angles)
        field = max(field, beam * 1.02)
        half, p = math.radians(beam / 2), math.log(LN10 / LN2) / math.log(field / beam)
        t = (np.arange(20000) + 0.5) * (math.pi / 2 / 20000)
        flux = 2 * math.pi * np.sum(np.exp(-LN2 * (t / half) ** p) * np.sin(t)) * (math.pi / 2 / 20000)
        out |= {"kind": "point", "scale": lm / flux, "beam": (half, p)}
        if f.get("barn_doors"):
            mouth = {"open-face": 0.18, "work-light": 0.16}.get(head["type"], 0.15)
            d = f["barn_doors"]
            leaf = lambda k: (math.sin(math.radians(d[k])) * mouth, math.cos(math.radians(d[k])) * mouth)
            out["doors"] = (mouth / 2, [leaf(k) for k in ("left_deg", "right_deg", "bottom_deg", "top_deg")])
    out["rgb"] = rgb(power) * gain
    return out


# --- daylight ---------------------------------------------------------------------------------------------------------

# a, b, c, d, e of the fifteen skies of CIE S 011.
SKIES = dict(enumerate([
    (4.0, -0.70, 0.0, -1.0, 0.0), (4.0, -0.70, 2.0, -1.5, 0.15), (1.1, -0.80, 0.0, -1.0, 0.0), (1.1, -0.80, 2.0, -1.5, 0.15),
    (0.0, -1.00, 0.0, -1.0, 0.0), (0.0, -1.00, 2.0, -1.5, 0.15), (0.0, -1.00, 5.0, -2.5, 0.30), (0.0, -1.00, 10.0, -3.0, 0.45),
    (-1.0, -0.55, 2.0, -1.5, 0.15), (-1.0, -0.55, 5.0, -2.5, 0.30), (-1.0, -0.55, 10.0, -3.0, 0.45), (-1.0, -0.32, 10.0, -3.0, 0.45),
    (-1.0, -0.32, 16.0, -3.0, 0.30), (-1.0, -0.15, 16.0, -3.0, 0.30), (-1.0, -0.15, 24.0, -2.8, 0.15)], 1))


def sun_direction(plan, clock):
    """Toward the sun on the plan by the low-precision formulas of the Astronomical Almanac (0.01 degrees)."""
    day, place = plan["daylight"], plan["location"]
    y, mo, d = map(int, day["date"].split("-"))
    h = sum(int(v) / s for v, s in zip(clock.split(":"), (1, 60))) - day["utc_offset_h"]
    jd = 367 * y - 7 * (y + (mo + 9) // 12) // 4 + 275 * mo // 9 + d + 1721013.5 + h / 24
    n = jd - 2451545.0
    g = math.radians((357.528 + 0.9856003 * n) % 360)
    lam = math.radians((280.460 + 0.9856474 * n) % 360 + 1.915 * math.sin(g) + 0.020 * math.sin(2 * g))
    eps = math.radians(23.439 - 4e-7 * n)
    ra, dec = math.atan2(math.cos(eps) * math.sin(lam), math.cos(lam)), math.asin(math.sin(eps) * math.sin(lam))
    gmst = (18.697374558 + 24.06570982441908 * n) % 24
    lha = math.radians(gmst * 15 + place["longitude_deg"]) - ra
    phi = math.radians(place["latitude_deg"])
    sine = math.sin(phi) * math.sin(dec) + math.cos(phi) * math.cos(dec) * math.cos(lha)
    azimuth = math.atan2(-math.sin(lha) * math.cos(dec), math.sin(dec) * math.cos(phi) - math.cos(dec) * math.sin(phi) * math.cos(lha))
    e = math.degrees(math.asin(sine))
    e += 1.02 / math.tan(math.radians(e + 10.3 / (e + 5.11))) / 60 if e > -1 else 0.0  # standard refraction (Saemundsson)
    flat = tw.bearing(place.get("north_deg", 0.0) + math.degrees(azimuth))
    c, s = math.cos(math.radians(e)), math.sin(math.radians(e))
    return np.array([flat[0] * c, flat[1] * c, s])


def holes_of(plan):
    """Openings that lead outside and are not shut."""
    place, out = plan["location"], []
    edges = {(r["id"], i): tw.Edge(r, i) for r in place["rooms"] for i in range(len(r["outline_m"]))}
    for o in place.get("openings", []):
        e = edges[o["room"], o["edge"]]
        passes = {"window": o["kind"].get("transmittance", 1.0), "passage": 1.0, "door": 1.0}[o["kind"]["type"]]
        middle = e.a + e.along * (o["offset_m"] + o["width_m"] / 2)
        beyond = middle - e.inward * (place.get("wall_thickness_m", 0.12) + 0.1)
        if o["kind"].get("open_deg", 90.0) <= 0.5 or any(tw.inside(beyond, r["outline_m"]) for r in place["rooms"]):
            continue
        z = (o.get("sill_m", 0.0) + o["head_m"]) / 2
        out.append({"centre": np.array([*middle, z]), "across": np.array([*(e.along * o["width_m"] / 2), 0.0]),
                    "up": np.array([0, 0, o["head_m"] - z]), "inward": np.array([*e.inward, 0.0]), "passes": passes})
    return out


def daylight_of(plan, shot):
    day, clock = plan.get("daylight"), shot.get("clock") or (plan.get("daylight") or {}).get("clock")
    if not day or "latitude_deg" not in plan["location"]:
        return []
    sun = sun_direction(plan, clock)
    holes = holes_of(plan)
    if sun[2] <= 0 or not holes:
        return []
    kind, s = day["sky_type"], sun[2]
    e = math.degrees(math.asin(s))
    mass = 1 / (s + 0.50572 * (e + 6.07995) ** -1.6364)
    diffuse = 1000 * (0.3 + 21 * s if kind <= 5 else 0.3 + 45 * s if kind <= 10 else 0.8 + 15.5 * math.sqrt(s))
    if kind > 10 and e < 10:
        # A low sun's clear sky: log-linear between the horizon and 10°.
        diffuse = 800 * ((0.8 + 15.5 * math.sqrt(math.sin(math.radians(10)))) / 0.8) ** (e / 10)
    direct = 0.0 if kind <= 5 else 127500 * math.exp(-(0.80 if kind <= 10 else 0.21) * mass)
    a, b, c, d, ee = SKIES[kind]

    def relative(v):
        cos = np.clip(v @ sun, -1, 1)
        chi = np.arccos(cos)
        return np.maximum((1 + a * np.exp(b / np.maximum(v[..., 2], 0.01))) * (1 + c * (np.exp(d * chi) - math.exp(d * math.pi / 2)) + ee * cos**2), 0)

    z = (np.arange(2000) + 0.5) / 2000  # sines of altitude
    az = (np.arange(720) + 0.5) / 720 * 2 * math.pi
    Z, A = np.meshgrid(z, az, indexing="ij")
    R = np.sqrt(1 - Z * Z)
    whole = np.sum(relative(np.stack([R * np.cos(A), R * np.sin(A), Z], -1)) * Z) * (1 / 2000) * (2 * math.pi / 720)
    ground = day.get("ground_reflectance", 0.2) * (diffuse + direct * s) / math.pi
    k = 6500.0 if kind <= 5 else 7500.0 if kind <= 10 else 12000.0
    blue = rgb(daylight(k))
    out = [{"kind": "sky", "hole": h, "sun": sun, "terms": (a, b, c, d, ee), "scale": diffuse / whole, "ground": ground, "rgb": blue * h["passes"]}
           for h in holes]
    # Over what lies in no room: the whole sky at once, and the ground under it.
    rooms = [r["outline_m"] for r in plan["location"]["rooms"]]
    out.append({"kind": "open", "rooms": rooms, "sun": sun, "terms": (a, b, c, d, ee), "scale": diffuse / whole, "ground": ground, "rgb": blue})
    if direct > 0:
        um = NM / 1000
        power = planck(5778.0) * np.exp(-(0.008735 * um**-4.08 + 0.07 * um**-1.3) * mass)
        out.append({"kind": "sun", "sun": sun, "holes": holes, "rgb": rgb(power) * direct})
        out.append({"kind": "sun_outside", "sun": sun, "rooms": rooms, "rgb": rgb(power) * direct})
    return out


def lamps_of(plan, shot):
    rig = next(r for r in plan["rigs"] if r["id"] == shot["rig"])
    own = {l["replaces"]: l for l in shot.get("lamps", []) if l.get("replaces")}
    all_of = [own.get(f["id"], f) for f in rig["fixtures"]] + [l for l in shot.get("lamps", []) if not l.get("replaces")]
    return [lamp_of(f) for f in all_of if f.get("on", True) and f.get("dimmer", 1.0) > 0] + daylight_of(plan, shot)


# --- the renderer's side ----------------------------------------------------------------------------------------------

LAMPS = []


def vec(v):
    return mi.Vector3f(*[dr.opaque(mi.Float, float(x)) for x in v])


def num(x):
    return dr.opaque(mi.Float, float(x))


def within(x, low, high):
    """A number held between two; the compiler has no minimum and maximum of single numbers for every machine."""
    return dr.select(x > high, num(high), dr.select(x < low, num(low), x))


def most(x, y):
    return dr.select(x > y, x, y)


def least(x, y):
    return dr.select(x < y, x, y)


class Lamp(mi.Emitter):
    """Light from one lamp, or from sky or sun through the openings, to a point that asks for it."""

    def __init__(self, props):
        super().__init__(props)
        self.m_flags = +mi.EmitterFlags.DeltaPosition
        self.lamp = LAMPS[int(props["number"])]
        l = self.lamp
        self.colour = mi.Color3f(*[num(c) for c in l["rgb"]])
        if l["kind"] in ("point", "area"):
            self.at, self.axis, self.right, self.up, self.scale = vec(l["at"]), vec(l["axis"]), vec(l["right"]), vec(l["up"]), num(l["scale"])
        elif l["kind"] == "sky":
            h = l["hole"]
            self.at, self.across, self.up, self.axis, self.sun = vec(h["centre"]), vec(h["across"]), vec(h["up"]), vec(h["inward"]), vec(l["sun"])
            self.size = num(4 * np.linalg.norm(h["across"]) * np.linalg.norm(h["up"]))

        elif l["kind"] == "open":
            self.sun = vec(l["sun"])

    def sample_direction(self, it, sample, active=True):
        l = self.lamp
        p, weight = getattr(self, l["kind"] + "_light")(mi.Vector3f(it.p), sample)
        ds = dr.zeros(mi.DirectionSample3f)
        ds.p = mi.Point3f(p)
        v = p - mi.Vector3f(it.p)
        ds.dist = dr.norm(v)
        ds.d = v / ds.dist
        ds.pdf, ds.delta, ds.emitter = 1.0, True, mi.EmitterPtr(self)
        return ds, mi.Spectrum(self.colour * weight)

    def point_light(self, p, sample):
        l, v = self.lamp, p - self.at
        d2 = dr.squared_norm(v)
        weight = self.scale / d2
        z = dr.dot(v, self.axis)
        if l["beam"]:
            half, power = l["beam"]
            theta = dr.acos(within(z * dr.rsqrt(d2), -1.0, 1.0))
            weight *= dr.select(theta < math.pi / 2, dr.exp(-LN2 * (theta / num(half)) ** num(power)), 0.0)
        if l["doors"]:
            half, (left, right, bottom, top) = l["doors"]
            x, y = dr.dot(v, self.right), dr.dot(v, self.up)
            weight *= self.open_part(half, left, right, x, z) * self.open_part(half, bottom, top, y, z)
        return self.at, weight

    @staticmethod
    def open_part(half, low, high, x, z):
        """Share of the mouth that is seen past two leaves, from a place x to the side and z before it."""

        def last(leaf, x):
            ex, ez = half + leaf[0], leaf[1]
            if ez < 1e-6:
                return mi.Float(half)
            # Where the line from the place over the leaf's free edge meets the mouth's plane.
            m = x + (ex - x) * z / most(z - ez, 1e-9)
            beside = dr.select(x > half + z * leaf[0] / ez, -1e9, 1e9)
            return least(dr.select(z > ez, m, beside), half)

        return dr.select(z > 0, within((last(high, x) + last(low, -x)) / (2 * half), 0.0, 1.0), 0.0)

    def area_light(self, p, sample):
        l = self.lamp
        w, h = l["size"]
        q = self.at + self.right * ((sample.x - 0.5) * num(w)) + self.up * ((sample.y - 0.5) * num(h))
        v = p - q
        d2 = dr.squared_norm(v)
        d = v * dr.rsqrt(d2)
        cos = dr.dot(d, self.axis)
        look = mi.Float(1.0)
        if l["grid"] is not None:
            open_to = lambda axis: most(1 - abs(dr.dot(d, axis)) / (most(cos, 1e-9) * num(l["grid"])), 0.0)
            look = open_to(self.right) * open_to(self.up)
        elif l["m"] > 1 + 1e-9:
            look = most(cos, 1e-9) ** num(l["m"] - 1)
        return q, dr.select(cos > 0, self.scale * look * cos * num(w * h) / d2, 0.0)

    def sky_light(self, p, sample):
        l = self.lamp
        q = self.at + self.across * (2 * sample.x - 1) + self.up * (2 * sample.y - 1)
        v = q - p
        d2 = dr.squared_norm(v)
        d = v * dr.rsqrt(d2)
        out = -dr.dot(d, self.axis)
        # What stands outside hides the sky behind it too.
        return p + d * 200.0, dr.select(out > 0, self.luminance(d) * out * self.size / d2, 0.0)

    def luminance(self, d):
        """Of sky and ground in a direction."""
        l = self.lamp
        a, b, c, k, e = l["terms"]
        cos = dr.dot(d, self.sun)
        cos = within(cos, -1.0, 1.0)
        chi = dr.acos(cos)
        relative = (1 + a * dr.exp(b / most(d.z, 0.01))) * (1 + c * (dr.exp(k * chi) - math.exp(k * math.pi / 2)) + e * cos * cos)
        return dr.select(d.z > 0, num(l["scale"]) * most(relative, 0.0), num(l["ground"]))

    def in_a_room(self, p):
        """Whether points lie in a room's outline: crossings of a line to the right are odd. To be asked a little off
        the surface a light is wanted on, toward the light."""
        least_side = mi.Float(1.0)
        for ring in self.lamp["rooms"]:
            side = mi.Float(1.0)
            for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1]):
                if y1 != y2:
                    spans = (p.y - num(y1)) * (p.y - num(y2)) < 0.0
                    side *= dr.select(spans & (p.x < num(x1) + (p.y - num(y1)) * num((x2 - x1) / (y2 - y1))), -1.0, 1.0)
            least_side = least(least_side, side)
        return least_side < 0.0

    def open_light(self, p, sample):
        z, turn = 1.0 - 2.0 * sample.x, 2.0 * math.pi * sample.y
        level = dr.sqrt(most(1.0 - z * z, 0.0))
        d = mi.Vector3f(level * dr.cos(turn), level * dr.sin(turn), z)
        return p + d * 200.0, dr.select(self.in_a_room(p + d * 0.02), 0.0, self.luminance(d) * (4 * math.pi))

    def sun_light(self, p, sample):
        d = vec(self.lamp["sun"])
        passes = mi.Float(0.0)
        for h in self.lamp["holes"]:
            along = dr.dot(d, vec(h["inward"]))
            t = dr.dot(vec(h["centre"]) - p, vec(h["inward"])) / along
            v = p + d * t - vec(h["centre"])
            inside = lambda half: abs(dr.dot(v, vec(half))) <= float(half @ half)
            passes = most(passes, dr.select((along < 0) & (t > 0) & inside(h["across"]) & inside(h["up"]), num(h["passes"]), 0.0))
        return p + d * 200.0, passes

    def sun_outside_light(self, p, sample):
        d = vec(self.lamp["sun"])
        return p + d * 200.0, dr.select(self.in_a_room(p + d * 0.02), 0.0, 1.0)

    def eval_direction(self, it, ds, active=True):
        return mi.Spectrum(0.0)

    def pdf_direction(self, it, ds, active=True):
        return mi.Float(0.0)

    def eval(self, si, active=True):
        return mi.Spectrum(0.0)

    def bbox(self):
        return mi.ScalarBoundingBox3f(mi.ScalarPoint3f(0, 0, 0))

    def to_string(self):
        return "Lamp"



