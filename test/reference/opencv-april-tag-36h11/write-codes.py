"""Writes codes.json: the markers as OpenCV draws them, one pixel a cell ("#" black, "." white)."""
import json
import cv2

dictionary = cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11)
ids = [0, 1, 2, 43, 60, 61, 105, 120, 121, 167, 400, 401, 417, 500, 501, 586]
codes = {
    str(i): ["".join("." if cell else "#" for cell in row) for row in cv2.aruco.drawMarker(dictionary, i, 8)]
    for i in ids
}
print(json.dumps({"opencv": cv2.__version__, "codes": codes}, indent=1))
