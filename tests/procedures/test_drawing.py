from __future__ import annotations

import re

from handsfree.library import Library
from handsfree.procedures.drawing import mermaid


def test_every_step_and_every_way_is_drawn_once(known: Library) -> None:
    for procedure in known.procedures.values():
        text = mermaid(procedure)
        lines = text.splitlines()
        assert lines[0] == "flowchart TD"
        nodes = {match[1] for match in re.finditer(r"^  (s(?!tart)\w+)[\[{>(]", text, re.MULTILINE)}
        assert nodes == {f"s{step.id}" for step in procedure.steps}
        arrows = [line for line in lines if re.match(r"  s\w+ (-->|-\.|==)", line)]
        stops = sum(fault.stops for step in procedure.steps for fault in step.faults)
        ways = sum(len(procedure.targets(step)) for step in procedure.steps)
        assert len(arrows) == ways + stops
        assert text.count('"') % 2 == 0


def test_cautions_stand_in_the_drawing(known: Library) -> None:
    assert "THE END WILL BE SHARP." in mermaid(known.procedures["cut"])
    assert "s7 -. " in mermaid(known.procedures["cut"])
