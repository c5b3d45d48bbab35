"""A procedure as a drawing: the text of a Mermaid flow chart, one node a step, one arrow a way."""

from __future__ import annotations

from collections.abc import Mapping

from handsfree.procedures.model import END, Procedure, Step, split_target

_SHAPES: Mapping[str, tuple[str, str]] = {
    "done": ("[", "]"),
    "seen": ("{", "}"),
    "value": ("[/", "/]"),
    "stated": ("{{", "}}"),
    "hold": ("([", "])"),
    "fact": (">", "]"),
    "call": ("[[", "]]"),
    "halt": ("(((", ")))"),
}
"""The brackets that Mermaid draws a kind of step with."""


def mermaid(procedure: Procedure) -> str:
    """Return a flow chart: dotted arrows are faults by name, thick ones lead to other procedures.

    The caution of a step stands over its title; the states that it sets stand under it.
    """
    lines = [
        "flowchart TD",
        f"  start([{_quoted(procedure.title)}]) --> {_node(procedure.steps[0])}",
    ]
    if procedure.needs_first:
        needs = "needs: " + ", ".join(procedure.needs_first)
        lines.append(f"  needs[{_quoted(needs)}] --- start")
    others: set[str] = set()
    for step in procedure.steps:
        opening, closing = _SHAPES[step.kind]
        lines.append(f"  {_node(step)}{opening}{_quoted(_label(step))}{closing}")
        for target, fault in procedure.targets(step):
            owner, to = split_target(target, procedure.id)
            arrow = "-->" if fault is None else f"-. {_quoted(fault.name)} .->"
            if owner != procedure.id:
                others.add(target)
                arrow = "==>" if fault is None else f"== {_quoted(fault.name)} ==>"
                lines.append(f"  {_node(step)} {arrow} {_outside(target)}")
            else:
                end = "finish" if to == END else _node(procedure.by_id[to])
                lines.append(f"  {_node(step)} {arrow} {end}")
        if step.calls:
            others.add(step.calls)
            lines.append(f"  {_node(step)} <==> {_outside(step.calls)}")
        lines.extend(
            f"  {_node(step)} -. {_quoted(fault.name)} .-> stopped((stop))"
            for fault in step.faults
            if fault.stops
        )
    lines.extend(f"  {_outside(target)}[[{_quoted(target)}]]" for target in sorted(others))
    lines.append("  finish([end])")
    return "\n".join(lines) + "\n"


def _node(step: Step) -> str:
    return f"s{step.id}"


def _outside(target: str) -> str:
    return "p_" + target.replace("/", "_")


def _label(step: Step) -> str:
    parts = [step.caution.upper(), f"{step.id}. {step.title}"]
    if step.sets:
        parts.append("sets " + ", ".join(step.sets))
    return "<br>".join(part for part in parts if part)


def _quoted(text: str) -> str:
    return '"' + text.replace('"', "'") + '"'
