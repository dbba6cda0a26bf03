"""Pictures of an assessment, drawn to scale: pure functions that return a figure, and the same in words.

``import matplotlib`` happens here and in no other room, so import this package where a picture is asked for.
"""

from anchorsize.present.pictures.bolt_view import bolt_alt, bolt_view
from anchorsize.present.pictures.face_view import face_alt, face_view
from anchorsize.present.pictures.fitting_view import fitting_alt, fitting_view
from anchorsize.present.pictures.style import render

__all__ = ["bolt_alt", "bolt_view", "face_alt", "face_view", "fitting_alt", "fitting_view", "render"]
