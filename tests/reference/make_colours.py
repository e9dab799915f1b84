"""Makes colours.json: chromaticity, CCT and Duv of spectra, and of spectra through gels, by the general-purpose
library colour-science (pip install colour-science==0.4.7). Spectra are given by their parameters."""
import json
import random
import warnings

warnings.filterwarnings("ignore")
import colour
import numpy as np

random.seed(7)
CMFS = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]


def bell(nm, peaks):
    return sum(h * np.exp(-0.5 * ((nm - c) / w) ** 2) for c, w, h in peaks)


def edges(nm, start, steps):
    value, before = np.full(nm.shape, start), start
    for middle, width, after in steps:
        value = value + (after - before) / (1 + np.exp(-(nm - middle) / width))
        before = after
    return value


def spectrum(lamp):
    step = lamp.get("step", 5)
    nm = np.arange(380, 781, step).astype(float)
    kind = lamp["kind"]
    if kind == "planck":
        return colour.sd_blackbody(lamp["k"], colour.SpectralShape(380, 780, 5))
    if kind == "daylight":
        xy = colour.temperature.CCT_to_xy_CIE_D(lamp["k"])
        sd = colour.sd_CIE_illuminant_D_series(xy, M1_M2_rounding=False)
        return sd.copy().align(colour.SpectralShape(380, 780, 5))
    if kind == "cie":
        return colour.SDS_ILLUMINANTS[lamp["symbol"]].copy().trim(colour.SpectralShape(380, 780, 5))
    return colour.SpectralDistribution(bell(nm, lamp["peaks"]), nm)


def measured(sd):
    XYZ = colour.sd_to_XYZ(sd, CMFS)
    x, y = colour.XYZ_to_xy(XYZ)
    uv = colour.UCS_to_uv(colour.XYZ_to_UCS(XYZ))
    cct, duv = colour.temperature.uv_to_CCT_Ohno2013(uv)
    out = {"x": float(x), "y": float(y)}
    if 1500 <= cct <= 20000 and abs(duv) < 0.045:
        out.update(cct_k=float(cct), duv=float(duv))
    return out, float(XYZ[1])


lamps = [{"kind": "planck", "k": k} for k in list(range(1600, 8000, 200)) + list(range(8000, 20001, 1000))]
lamps += [{"kind": "daylight", "k": k} for k in list(range(4000, 10000, 250)) + list(range(10000, 20001, 1000))]
lamps += [
    {"kind": "cie", "symbol": s} for s in colour.SDS_ILLUMINANTS if s.startswith("FL") or s.startswith("LED")
]
for i in range(100):
    blue, phosphor = random.uniform(440, 465), random.uniform(545, 605)
    peaks = [
        [blue, random.uniform(8, 14), random.uniform(0.2, 1.2)],
        [phosphor, random.uniform(35, 65), 1.0],
        [random.uniform(610, 650), random.uniform(10, 30), random.uniform(0, 0.8)],
    ]
    lamps.append({"kind": "bells", "step": [5, 1, 5, 10][i % 4], "peaks": peaks})
spectra = [{"lamp": lamp, **measured(spectrum(lamp))[0]} for lamp in lamps]

pairs = []
bases = [{"kind": "planck", "k": k} for k in (2700, 3200, 5600)] + [
    {"kind": "daylight", "k": 6500},
    {"kind": "cie", "symbol": "FL2"},
    {"kind": "cie", "symbol": "FL11"},
    {"kind": "cie", "symbol": "LED-B3"},
    lamps[-1],
]
gels = [
    (0.25, [(490.0, 9.0, 0.9)]),
    (0.05, [(545.0, 12.0, 0.88)]),
    (0.6, [(500.0, 20.0, 0.15), (700.0, 15.0, 0.6)]),
    (0.5, [(480.0, 15.0, 0.85), (590.0, 15.0, 0.55), (710.0, 15.0, 0.85)]),
    (0.85, [(485.0, 14.0, 0.5), (600.0, 14.0, 0.86)]),
    (0.75, [(450.0, 30.0, 0.4)]),
]
for lamp in bases:
    for start, steps in gels:
        sd = spectrum(lamp)
        nm = sd.domain
        through = colour.SpectralDistribution(sd.values * edges(nm, start, steps), nm)
        out, y = measured(through)
        out["passed"] = y / measured(sd)[1]
        pairs.append({"lamp": lamp, "gel": {"start": start, "steps": steps}, **out})
print(len(spectra), "spectra,", len(pairs), "pairs")
with open("colours.json", "w") as f:
    f.write(json.dumps({"spectra": spectra, "pairs": pairs}, indent=None, separators=(",", ":")).replace('{"lamp"', '\n{"lamp"') + "\n")
