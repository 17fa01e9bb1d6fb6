"""The tests of a soil as short forms, in the order in which a tester meets them."""

from __future__ import annotations

from api.web.mix_forms import BRICKS, MAP, TICKED, WALL
from api.web.raw_forms import BALL, BOX, JAR, LAB, RIBBON, ROLL, SMELL, STONES
from api.web.soil_form import SoilForm

# In order of effort, and beliefs last.
FORMS: dict[str, SoilForm] = {
    own.kind: own
    for own in (
        SMELL,
        RIBBON,
        BALL,
        ROLL,
        STONES,
        JAR,
        BOX,
        LAB,
        BRICKS,
        WALL,
        TICKED,
        MAP,
    )
}
# The kinds that advice on what to test next names otherwise.
CHECKS = {"ribbon_and_ball": "ribbon", "test_bricks": "mix_trial"}
