"""The map: fields by class of fill, on a plain ground, with nothing fetched from outside.

The base map is built once; what changes (classes, selection) comes as feature groups, so that
zoom and place stay. A click is read as a place (latitude, longitude): find the field by its
boundary with ``field_at``. That is exact for circles and polygons alike.
"""

from dashboard.maps.fields import field_group, field_sketch, selection_ring
from dashboard.maps.ground import base_map
from dashboard.maps.shapes import Bounds, bounds_of, circle_of, field_at

__all__ = [
    "Bounds",
    "base_map",
    "bounds_of",
    "circle_of",
    "field_at",
    "field_group",
    "field_sketch",
    "selection_ring",
]
