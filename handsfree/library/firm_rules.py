"""What a firm's pack may not do: take the place of what is shipped, or loosen a safety rule.

A pack stands or falls as a whole. Each rule yields its faults, with file, place and what to do;
beside these, its procedures obey every rule and proof that the shipped ones do.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from itertools import islice

from pydantic import ValidationError

from handsfree.calculators.card import Option
from handsfree.errors import DataError
from handsfree.language.grammar import Expansion, Sequence, Word, parse_phrase, rule_names
from handsfree.language.grammar import sentences as said_by
from handsfree.language.matching import PhraseBook, required
from handsfree.language.tokens import tokenise
from handsfree.library.firm import HEAD, Additions
from handsfree.library.forms import FirmLimits
from handsfree.library.joined import Library
from handsfree.procedures.marking import fault_at
from handsfree.procedures.model import Procedure, Step, Value, split_target
from handsfree.procedures.proofs import Graph

SENTENCES = 200
"""How many sentences of a phrase are compared with the shipped ones: all of most phrases."""
LONGEST_PHRASE = 400
_DANGER = ("stop", "emergency", "refuse")


def firm_faults(added: Additions, shipped: Library) -> Iterator[DataError]:
    """Yield every fault of a pack beside what the shipped library is."""
    yield from _names(added, shipped)
    yield from _facts(added, shipped)
    yield from _phrases(added, shipped)
    for name, question in added.questions.items():
        yield from _never("questions.toml", name, question.say, shipped)
    for file, text in added.procedures.items():
        try:
            procedure = Procedure.model_validate(tomllib.loads(text))
        except (tomllib.TOMLDecodeError, RecursionError, ValidationError):
            continue  # told in full where procedures are read
        yield from _Rules(file, text, procedure, added, shipped).faults()


def _names(added: Additions, shipped: Library) -> Iterator[DataError]:
    if added.firm is None:
        return
    prefix = added.firm.prefix
    owned = (*shipped.procedures, *shipped.facts, *shipped.questions, *shipped.cards)
    taken = [name for name in owned if name.startswith(prefix)]
    if taken or added.firm.id in shipped.sources:
        hint = "Give the pack another id."
        problem = f"'{added.firm.id}' begins names that are shipped"
        yield DataError(HEAD, "id", problem, hint)
    named = (
        *((f"procedures/{file}", file.removesuffix(".toml")) for file in added.procedures),
        *(("facts.toml", name) for name in added.facts),
        *(("questions.toml", name) for name in added.questions),
    )
    for file, name in named:
        if not name.startswith(prefix):
            hint = (
                f"Call it '{prefix}{name}': nothing of a pack takes the place of what is shipped."
            )
            yield DataError(file, name, f"its name does not begin with '{prefix}'", hint)


def _facts(added: Additions, shipped: Library) -> Iterator[DataError]:
    for name, fact in added.facts.items():
        if fact.bender:
            yield DataError("facts.toml", name, "a bender's profile is shipped", "Drop `bender`.")
        if not (fact.options or fact.words or fact.kind):
            hint = "Give it options, words = true, or a kind and a unit."
            yield DataError("facts.toml", name, "it is of no kind", hint)
        if fact.words and fact.phrases:
            hint = "Leave its phrases out."
            yield DataError("facts.toml", name, "free words are asked for, never said first", hint)
        rule = fact.rule or (str(fact.kind).replace(" ", "_") if fact.kind else "")
        if rule and rule not in shipped.rules:
            yield DataError("facts.toml", name, f"'{rule}' is not a rule of the grammar")
        yield from _never("facts.toml", name, f"{fact.question} {fact.told}", shipped)


def _phrases(added: Additions, shipped: Library) -> Iterator[DataError]:
    """Yield a fault for a phrase that means something already, or is like one of danger."""
    groups: list[tuple[str, str, tuple[str, ...], str]] = []
    groups.extend(("answer", n, q.phrases, "questions.toml") for n, q in added.questions.items())
    groups.extend(("fact", n, f.phrases, "facts.toml") for n, f in added.facts.items())
    for kind, known, ways in (
        ("procedure", shipped.procedures, added.ways.procedure),
        ("calculator", shipped.cards, added.ways.calculator),
    ):
        for name, phrases in ways.items():
            if name in known:
                groups.append((kind, name, phrases, "phrases.toml"))
            else:
                yield DataError("phrases.toml", name, f"there is no shipped {kind} of this name")
    for file, text in added.procedures.items():
        try:
            procedure = Procedure.model_validate(tomllib.loads(text))
        except (tomllib.TOMLDecodeError, RecursionError, ValidationError):
            continue
        back = tuple(f"back to [the] {name}" for name in procedure.names)
        groups.append(("procedure", procedure.id, procedure.phrases, f"procedures/{file}"))
        groups.append(("take", procedure.id, back, f"procedures/{file}"))
    grave = [phrase for phrase in shipped.phrases if phrase.kind in _DANGER]
    danger = PhraseBook(grave, shipped.parser, shipped.safety.negations)
    for kind, owner, phrases, file in groups:
        for phrase in phrases:
            yield from _phrase((kind, owner), phrase, file, shipped, danger)


def _phrase(
    means: tuple[str, str], phrase: str, file: str, shipped: Library, danger: PhraseBook
) -> Iterator[DataError]:
    owner = means[1]
    if len(phrase) > LONGEST_PHRASE:
        yield DataError(file, owner, f"a phrase of {len(phrase)} letters", "Split it.")
        return
    try:
        expansion = parse_phrase(phrase, file, owner)
    except DataError as fault:
        yield fault
        return
    if not required(expansion):
        hint = "Write at least one word that is always said."
        yield DataError(file, owner, f"'{phrase}' can be said without a word of its own", hint)
        return
    slots: dict[str, Expansion] = {
        rule.name: Sequence((Word("three"), Word("inches"))) for rule in rule_names(expansion)
    }
    for words in islice(said_by(expansion, slots), SENTENCES):
        sentence = " ".join(words)
        tokens = tokenise(sentence)
        hits = (hit.phrase for hit in shipped.book.matches(tokens))
        other = next((hit for hit in hits if hit.owner != means), None)
        if other is not None:
            problem = f"'{sentence}' means {other.kind} '{other.id}' already"
            yield DataError(file, owner, problem, "Choose other words.")
            return
        for near in danger.nearest(tokens, ()):
            if near.likeness >= shipped.limits.too_like:
                like = " ".join(near.sentence)
                problem = f"'{sentence}' is too like '{like}', which keeps people safe"
                yield DataError(file, owner, problem, "Choose other words.")
                return


def _holds(text: str, words: str) -> bool:
    """Return whether the words stand in a text, one after the other, as whole words."""
    return f" {words} " in f" {' '.join(tokenise(text))} "


def _never(file: str, place: str, text: str, shipped: Library) -> Iterator[DataError]:
    """Yield a fault where a sentence speaks of what is refused, other than to forbid it."""
    for sentence in text.replace("?", ".").split("."):
        if set(tokenise(sentence)) & set(shipped.safety.negations):
            continue
        for name, ways in shipped.limits.never.items():
            for words in ways:
                if _holds(sentence, words):
                    refused = shipped.safety.refuse[name]
                    problem = f"it speaks of '{words}', which is refused: {refused.why[:-1]}"
                    yield DataError(file, place, problem, refused.instead)
                    return


class _Rules:
    """The rules for one procedure of a pack."""

    def __init__(
        self, file: str, text: str, procedure: Procedure, added: Additions, shipped: Library
    ) -> None:
        self.file, self.text, self.procedure = f"procedures/{file}", text, procedure
        self.added, self.shipped = added, shipped
        self.limits: FirmLimits = shipped.limits

    def faults(self) -> Iterator[DataError]:
        """Yield what the procedure may not do."""
        for flag in self.limits.needs:
            if flag not in self.procedure.needs:
                hint = f'Write needs = ["{flag}"].'
                yield self._at(None, f"it does not need '{flag}'", hint, "needs")
        if self.procedure.makes_joint:
            hint = "Call the shipped procedure that makes and inspects one."
            yield self._at(None, "it writes a joint down as made", hint, "makes_joint")
        for step in self.procedure.steps:
            yield from self._step(step)

    def _at(self, step: Step | None, problem: str, hint: str, word: str = "") -> DataError:
        return fault_at(self.file, self.text, step, problem, hint, word)

    def _step(self, step: Step) -> Iterator[DataError]:
        for flag in (*step.sets, *(flag for fault in step.faults for flag in fault.sets)):
            setter = self.shipped.flags[flag].set_by if flag in self.shipped.flags else "nothing"
            hint = f'Call what sets it: kind = "call", calls = "{setter}".'
            yield self._at(step, f"it sets '{flag}', which a pack cannot", hint, "sets")
        strict = {
            flag
            for shipped in self.shipped.procedures.values()
            for others in shipped.needs_while.values()
            for flag in others
        }
        for flag in (*step.clears, *(flag for fault in step.faults for flag in fault.clears)):
            if flag in strict:
                problem = f"it ends '{flag}', while which shipped work needs more"
                yield self._at(step, problem, "Leave it to the shipped procedures.", "clears")
        if step.inspects:
            hint = "Call the shipped procedure that inspects the work."
            yield self._at(step, "it counts as an inspection of ours", hint, "inspects")
        yield from self._ways_in(step)
        yield from self._answers(step)
        yield from self._acts(step)
        yield from self._workings(step)
        if step.value is not None:
            yield from self._band(step, step.value)
        yield from self._gives(step)
        told = ". ".join(
            (
                *(step.title, step.say, step.check, step.good, step.why, step.more),
                *(step.caution, step.note, step.insist),
                *(fault.say for fault in step.faults),
            )
        )
        yield from _never(self.file, f'step "{step.id}"', told, self.shipped)

    def _ways_in(self, step: Step) -> Iterator[DataError]:
        """Yield a fault where a shipped procedure is entered as no shipped one enters it."""
        graph = Graph(
            {name: (f"{name}.toml", one) for name, one in self.shipped.procedures.items()},
            {},
            self.shipped.flags,
            self.shipped.hazards,
        )
        for target in (step.next, step.calls, *(fault.goto for fault in step.faults)):
            name, entered = split_target(target, "")
            if name in self.shipped.procedures and entered not in ("", *graph.entries(name)):
                hint = f'Call the whole of it: calls = "{name}".'
                yield self._at(step, f"it enters '{target}' in the middle", hint, target)

    def _answers(self, step: Step) -> Iterator[DataError]:
        """Yield a fault where a shipped challenge is answered in other words than the shipped."""
        for hazard in step.warns:
            if hazard not in self.shipped.hazards or not self.shipped.hazards[hazard].stated:
                continue
            words = {
                state
                for procedure in self.shipped.procedures.values()
                for one in procedure.steps
                if hazard in one.warns
                for state in one.states
            }
            for state in step.states:
                if state not in words:
                    hint = f"Its answers are: {'; '.join(sorted(words))}."
                    problem = f"'{state}' does not answer the challenge '{hazard}'"
                    yield self._at(step, problem, hint, "states")

    def _acts(self, step: Step) -> Iterator[DataError]:
        """Yield a fault for an act that is not named: nothing would put its caution before it."""
        told = f"{step.title} {step.say} {step.check} {step.more}"
        for hazard, ways in self.limits.act.items():
            words = next((words for words in ways if _holds(told, words)), None)
            if words is None or hazard in (*step.hazard, *step.warns):
                continue
            known = self.shipped.hazards[hazard].words
            hint = (
                f'Write hazard = ["{hazard}"], and before it a step with warns = ["{hazard}"] '
                f"that says: {known}"
            )
            yield self._at(step, f"'{words}' is an act that needs its caution", hint, "say")

    def _workings(self, step: Step) -> Iterator[DataError]:
        """Yield a fault where a calculator is handed a figure in the place of what it asks for."""
        for working in step.workings:
            card = self.shipped.cards.get(working.calculator)
            if card is None:
                continue
            for slot, value in working.given.items():
                figure = not isinstance(card.by_name.get(slot), Option)
                problem = "" if isinstance(value, tuple) else card.preset_problem(slot, value)
                if problem or figure:
                    hint = "Only a choice may be given; figures are read or known to the job."
                    yield self._at(step, problem or f"'{slot}' is a figure", hint, slot)

    def _band(self, step: Step, value: Value) -> Iterator[DataError]:
        """Yield a fault where a shipped fact is taken in a wider band than its own."""
        fact = self.shipped.facts.get(value.fact)
        if fact is None:
            return
        if fact.kind is not None and value.kind != fact.kind:
            hint = f'Write kind = "{fact.kind}".'
            yield self._at(step, f"'{value.fact}' is of another kind", hint, value.fact)
            return
        if fact.low is None or fact.high is None:
            return
        band = value.band()
        if band is None or any(fact.outside(edge) for edge in band):
            hint = f"Write low and high within {fact.low} to {fact.high} {fact.unit}."
            yield self._at(step, f"its band is wider than that of '{value.fact}'", hint, "value")

    def _gives(self, step: Step) -> Iterator[DataError]:
        """Yield a fault where a shipped fact is handed what is no choice or reading of it."""
        read = {one.value.name: one.value for one in self.procedure.steps if one.value}
        for name, given in step.gives.items():
            fact = self.shipped.facts.get(name)
            if fact is None or given in fact.options:
                continue
            value = read.get(given[1:-1]) if given.startswith("{") else None
            if value is None:
                hint = "Give one of its choices, or a value read here in braces."
                yield self._at(step, f"'{name}' cannot be '{given}'", hint, name)
            else:
                as_fact = value.model_copy(update={"fact": name})
                yield from self._band(step, as_fact)
