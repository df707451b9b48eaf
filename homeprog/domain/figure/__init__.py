"""Pictures worked out from the prescription: the same figures, drawn and in words."""

from .description import describe
from .draw import draw, strip
from .figures import Figure, figures
from .scene import Motion, Pose, Scene
from .scenes import scenes_of

__all__ = [
    "Figure",
    "Motion",
    "Pose",
    "Scene",
    "describe",
    "draw",
    "figures",
    "scenes_of",
    "strip",
]
