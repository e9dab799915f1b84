"""Points through random cameras by OpenCV's pinhole model (projectPoints), kept in projections.json.

Run: python make_projections.py > projections.json  (needs numpy, opencv-python-headless)

World: x east, y up the plan, z up. A camera stands at `eye`, its axis at a bearing `pan` clockwise from +y and
a `tilt` up, turned by `roll` clockwise as the operator sees it (the picture turns the other way). OpenCV's
camera axes are right, down, forward.
"""

import json
import cv2
import numpy as np

rng = np.random.default_rng(4)
W, H = 1920, 1080
cameras = []
for n in range(50):
    eye = rng.uniform([-8, -8, 0.2], [8, 8, 2.6])
    pan, tilt, roll = rng.uniform(0, 360), rng.uniform(-60, 60), rng.uniform(-30, 30)
    focal = float(rng.choice([14, 20, 24, 35, 50, 85]))
    sensor = float(rng.uniform(12, 36))
    p, t, r = np.radians([pan, tilt, roll])
    # Built by turning a camera that looks along +y: first roll about its axis, then tilt, then pan.
    def about(axis, angle):
        return cv2.Rodrigues(np.array(axis, float) * angle)[0]
    # Clockwise seen from behind is a right-handed turn about the viewing direction.
    turn = about([0, 0, 1], -p) @ about([1, 0, 0], t) @ about([0, 1, 0], r)
    right, forward, up = turn @ [1, 0, 0], turn @ [0, 1, 0], turn @ [0, 0, 1]
    rotation = np.array([right, -up, forward])
    rvec = cv2.Rodrigues(rotation)[0]
    tvec = -rotation @ eye
    fx = focal / sensor * W
    matrix = np.array([[fx, 0, W / 2], [0, fx, H / 2], [0, 0, 1]])
    # Points before the lens, in and out of frame.
    depth = rng.uniform(0.3, 15, 40)
    lateral = rng.uniform(-0.9, 0.9, (40, 2)) * depth[:, None]
    points = eye + lateral[:, :1] * right + lateral[:, 1:] * up + depth[:, None] * forward
    points = np.round(points, 6)
    eye = eye.tolist()
    pixels = cv2.projectPoints(points, rvec, tvec, matrix, None)[0][:, 0]
    cameras.append({
        "eye_m": eye, "pan_deg": pan, "tilt_deg": tilt, "roll_deg": roll, "focal_mm": focal,
        "sensor_width_mm": sensor, "points_m": points.tolist(), "pixels": np.round(pixels, 4).tolist(),
    })
print(json.dumps({"opencv": cv2.__version__, "width": W, "height": H, "cameras": cameras}))
