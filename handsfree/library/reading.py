"""Reading `data/`, joining and cross-checking it; all faults of all files are told at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources

from handsfree.calculators.card import Card, Option, Parameter
from handsfree.calculators.catalogue import CARDS
from handsfree.errors import DataError, DataErrors
from handsfree.language.grammar import (
    Choice,
    Expansion,
    Sequence,
    Word,
    bind,
    parse_phrase,
    rule_names,
)
from handsfree.language.matching import Phrase
from handsfree.language.numbers import number_rules
from handsfree.language.tokens import tokenise
from handsfree.library.firm import NOTHING, Additions
from handsfree.library.forms import (
    Command,
    Fact,
    FirmLimits,
    Hearing,
    PhraseText,
    Safety,
    Sound,
    Words,
    formed,
    steps_of,
)
from handsfree.library.joined import Library
from handsfree.procedures.model import Flag, Hazard, Stage
from handsfree.procedures.work import Question, Shared, Work, read_work
from handsfree.reference import tables


def _texts(folder: str, ending: str) -> dict[str, str]:
    place = resources.files("handsfree") / "data" / folder
    return {
        entry.name: entry.read_text(encoding="utf-8")
        for entry in sorted(place.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(ending)
    }


class _Joiner:
    """Joins the files, and collects every fault on the way."""

    def __init__(self) -> None:
        self.faults: list[DataError] = []
        self.rules: dict[str, Expansion] = dict(number_rules())
        self.phrases: list[Phrase] = []
        self.answers: dict[str, list[Phrase]] = {}

    def parse(self, text: str, file: str, place: str) -> Expansion | None:
        try:
            return parse_phrase(text, file, place)
        except DataError as fault:
            self.faults.append(fault)
            return None

    def choice_rule(
        self, name: str, options: Mapping[str, tuple[str, ...]], file: str, place: str
    ) -> None:
        """Add the rule that reads the words of a choice: `choice_<name>`, tagged by option."""
        found: list[Expansion] = []
        for option, ways in options.items():
            for way in ways:
                parts = [Word(word) for word in tokenise(way)]
                parts[-1] = Word(parts[-1].text, option)
                found.append(parts[0] if len(parts) == 1 else Sequence(tuple(parts)))
        if not found:
            self.faults.append(DataError(file, place, "this choice has no words"))
            return
        self.rules[name] = Choice(tuple(found))

    def phrase(  # noqa: PLR0913 - a phrase, whose it is, its slots, and where it stands
        self,
        kind: str,
        owner: str,
        text: PhraseText,
        slots: Mapping[str, str],
        file: str,
        place: str,
        into: list[Phrase] | None = None,
    ) -> None:
        into = self.phrases if into is None else into
        expansion = self.parse(text.say, file, place)
        if expansion is None:
            return
        for rule in rule_names(expansion):
            if rule.name not in slots:
                hint = f"Its slots are: {', '.join(slots) or 'none'}."
                self.faults.append(
                    DataError(file, place, f"<{rule.name}> is not one of its slots", hint)
                )
                return
        expansion = bind(expansion, slots)
        into.append(Phrase(kind, owner, expansion, text.presets, text.follows))


def _join_cards(joiner: _Joiner, words: Mapping[str, Words], facts: Mapping[str, Fact]) -> None:
    for card in CARDS:
        own = words.get(card.id)
        if own is None:
            hint = f"Add [{card.id}] to a file of data/phrases."
            joiner.faults.append(DataError("data/phrases", card.id, "it has no words", hint))
            continue
        slots: dict[str, str] = {}
        for parameter in card.parameters:
            slots[parameter.name] = _slot_rule(joiner, card, parameter, own)
            has_question = parameter.name in own.questions or parameter.name in facts
            askable = not parameter.optional and getattr(parameter, "default", None) is None
            if askable and not has_question:
                joiner.faults.append(
                    DataError("data/phrases", card.id, f"no question asks for {parameter.name}")
                )
        answers = joiner.answers.setdefault(card.id, [])
        for text in own.phrases:
            joiner.phrase("calculator", card.id, text, slots, "data/phrases", card.id)
        for text in own.answers:
            joiner.phrase("answer", card.id, text, slots, "data/phrases", card.id, answers)
        for text in (*own.phrases, *own.answers):
            for name, value in text.presets.items():
                problem = card.preset_problem(name, value)
                if problem:
                    joiner.faults.append(DataError("data/phrases", card.id, problem))


def _slot_rule(joiner: _Joiner, card: Card, parameter: Parameter | Option, own: Words) -> str:
    """Return the rule that reads a parameter, made here where it is a choice of the card's own."""
    if isinstance(parameter, Parameter) or parameter.units_of:
        return parameter.grammar_rule
    if parameter.name in own.options:
        name = f"choice_{card.id}_{parameter.name}"
        joiner.choice_rule(name, own.options[parameter.name], "data/phrases", card.id)
        return name
    return f"choice_{parameter.name}"


def _fact_rule(name: str, fact: Fact) -> str:
    if fact.options:
        return f"choice_{name}"
    if fact.words:
        return "dictation"
    return fact.rule or str(fact.kind).replace(" ", "_")


COMMAND_SLOTS = {"text": "dictation", "name": "anything", "duration": "time"}


def _join_rest(
    joiner: _Joiner,
    facts: Mapping[str, Fact],
    commands: Mapping[str, Command],
    safety: Safety,
    work: Work,
) -> None:
    fact_slots = {name: _fact_rule(name, fact) for name, fact in facts.items()}
    groups: list[tuple[str, str, tuple[str, ...], Mapping[str, str], str]] = []
    for name, fact in facts.items():
        groups.append(("fact", name, fact.phrases, fact_slots, "facts.toml"))
    for name, command in commands.items():
        groups.append(("command", name, command.phrases, COMMAND_SLOTS, "commands.toml"))
    groups.append(("stop", "stop", safety.stop.phrases, {}, "safety.toml"))
    for name, line in safety.emergency.items():
        groups.append(("emergency", name, line.phrases, {}, "safety.toml"))
    for name, handed in safety.refuse.items():
        groups.append(("refuse", name, handed.phrases, {}, "safety.toml"))
    groups.extend((kind, owner, texts, {}, file) for kind, owner, texts, file in work.phrases())
    for kind, owner, texts, slots, file in groups:
        for text in texts:
            joiner.phrase(kind, owner, PhraseText(say=text), slots, file, owner)


def _join_ways(joiner: _Joiner, added: Additions, words: Mapping[str, Words]) -> None:
    """Add a firm's further ways to ask for what is shipped."""
    for name, texts in added.ways.procedure.items():
        for text in texts:
            joiner.phrase("procedure", name, PhraseText(say=text), {}, "phrases.toml", name)
    for card in CARDS:
        slots = {one.name: _slot_rule(joiner, card, one, words[card.id]) for one in card.parameters}
        for text in added.ways.calculator.get(card.id, ()):
            joiner.phrase(
                "calculator", card.id, PhraseText(say=text), slots, "phrases.toml", card.id
            )


def _limit_faults(limits: FirmLimits, shared: Shared, safety: Safety) -> Iterator[DataError]:
    """Yield a fault where the limits of packs name what is not there."""
    for kind, names, known in (
        ("needs", limits.needs, shared.flags),
        ("act", limits.act, shared.hazards),
        ("never", limits.never, safety.refuse),
    ):
        for name in names:
            if name not in known:
                yield DataError("firm.toml", kind, f"'{name}' is not there")


def read_library(
    extra_procedures: Mapping[str, str] | None = None, added: Additions = NOTHING
) -> Library:
    """Return the library, with further procedure files by name, and with what a firm adds.

    Raises `DataErrors` for every fault that is not one of a single procedure.
    """
    joiner = _Joiner()
    faults = joiner.faults
    data = _texts("", ".toml")
    phrase_files = _texts("phrases", ".toml")
    commands = formed(
        "commands.toml", dict[str, Command], faults, phrase_files.pop("commands.toml")
    )
    says = formed("says.toml", dict[str, str], faults, phrase_files.pop("says.toml"))
    asked = phrase_files.pop("questions.toml")
    questions = formed("questions.toml", dict[str, Question], faults, asked)
    words: dict[str, Words] = {}
    for file, text in phrase_files.items():
        words.update(formed(file, dict[str, Words], faults, text) or {})
    facts = formed("facts.toml", dict[str, Fact], faults, data["facts.toml"])
    flags = formed("flags.toml", dict[str, Flag], faults, data["flags.toml"])
    hazards = formed("hazards.toml", dict[str, Hazard], faults, data["hazards.toml"])
    stages = formed("stages.toml", dict[str, Stage], faults, data["stages.toml"])
    safety = formed("safety.toml", Safety, faults, data["safety.toml"])
    hearing = formed("hearing.toml", Hearing, faults, data["hearing.toml"])
    limits = formed("firm.toml", FirmLimits, faults, data["firm.toml"])
    sound = formed("sound.toml", Sound, faults, data["sound.toml"])
    steps = formed("rounding.toml", dict[str, dict[str, str]], faults, data["rounding.toml"])
    try:
        for model in tables.TABLES.values():
            tables.rows(model)
    except DataErrors as error:
        faults.extend(error.faults)
    if faults:
        raise DataErrors(faults)
    sources = frozenset((*tables.sources(), *added.sources))
    procedure_texts = {
        **_texts("procedures", ".toml"),
        **(extra_procedures or {}),
        **added.procedures,
    }
    added = added.marked(says["firm_says"], says["firm_fact"])
    questions, facts = {**questions, **added.questions}, {**facts, **added.facts}
    shared = Shared(flags, hazards, stages, questions)
    faults.extend(shared.faults(sources))
    faults.extend(_limit_faults(limits, shared, safety))
    if faults:
        raise DataErrors(faults)
    calculators = frozenset(card.id for card in CARDS)
    work = read_work(procedure_texts, shared, calculators, frozenset(facts), sources)
    for name, fact in facts.items():
        if fact.options:
            joiner.choice_rule(f"choice_{name}", fact.options, "facts.toml", name)
    _join_cards(joiner, words, facts)
    _join_rest(joiner, facts, commands, safety, work)
    _join_ways(joiner, added, words)
    if faults:
        raise DataErrors(faults)
    return Library(
        cards={card.id: card for card in CARDS},
        words=words,
        facts=facts,
        commands=commands,
        procedures=added.titled(work.procedures, says["firm_title"]),
        flags=flags,
        hazards=hazards,
        stages=stages,
        questions=questions,
        safety=safety,
        hearing=hearing,
        sound=sound,
        says=says,
        rounding={name: steps_of(rule) for name, rule in steps.items()},
        rules=joiner.rules,
        phrases=tuple(joiner.phrases),
        answers={card: tuple(phrases) for card, phrases in joiner.answers.items()},
        broken=work.broken,
        sources=sources,
        limits=limits,
        firm=added.firm,
    )


@cache
def library() -> Library:
    """Return the library of this installation, read once."""
    return read_library()
