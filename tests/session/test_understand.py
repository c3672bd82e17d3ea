"""Typed words to answers. The rule above all others: no text is ever taken as an answer it did not give."""

from pathlib import Path

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from assistant.conversation.consultation import Consultation
from assistant.errors import Refused
from assistant.session.spoken import HARMLESS, bare, spans, words_of
from assistant.session.understand import Understood, understand
from assistant.tree.load import installed_ids, load
from assistant.tree.model import NOT_SURE, Question
from assistant.workings.units import exact
from tests.session.phrases import ASK, PHRASES, UNSURE


def installed_questions() -> dict[str, Question]:
    parts = [part for name in installed_ids() for part in load(name).family()]
    return {f"{part.id}/{name}": question for part in parts for name, question in part.file.question.items()}


QUESTIONS = installed_questions()
CHOICES = {name: question for name, question in QUESTIONS.items() if question.answer}
PHRASED = [
    (name, answer.id, phrase)
    for name, question in CHOICES.items()
    for answer in question.answer
    for phrase in (answer.id, answer.says, *answer.also)
]

DENIED = (
    "no {}", "not {}", "{} not", "it is not {}", "isn't {}", "is never {}", "without {}", "{} - no", "no longer {}",
    "hardly {}", "there is no {}", "there are no {}", "there's no {} here", "{}? no", "definitely not {}", "neither {}",
    "anything but {}", "no, not {}", "{}, not", "not the {}", "ain't {}", "can't be {}", "non-{}", "don't see {}",
    "we have no {}", "{} isn't there", "not really {}", "nothing {}", "none {}", "NO {}!", "not “{}”", "no\n{}", "{} (not)",
)  # fmt: skip
DOUBTED = (
    "{}?", "maybe {}", "probably {}", "{} I think", "{} or not", "should be {}", "could be {}", "was {}", "had {}",
    "{} I guess", "looks {}", "sounds {}", "almost {}", "not sure, {}", "{}, not sure", "✗ {}", "~{}", "!{}", "{} ❌",
    "{} 🚫", "≠ {}", "if {}", "supposed to be {}", "{} removed", "{} needed", "{} last year", "half {}", "only just {}",
)  # fmt: skip


def taken(question: Question, text: str) -> set[str]:
    value = understand(question, text).value
    return set(value) if isinstance(value, tuple) else {str(value)} - {"None", NOT_SURE}


def authored(question: Question, answer_id: str, text: str, phrase: str) -> bool:
    """Whether the author gave the whole as a phrase of that answer, or a longer part of it that holds the addition."""
    answer = question.answer_of(answer_id)
    assert answer is not None
    words, short = bare(words_of(text)), len(bare(words_of(phrase)))
    own = [bare(words_of(one)) for one in (answer.id, answer.says, *answer.also)]
    return any(len(one) > short and spans(one, words) for one in own)


@pytest.mark.parametrize("name", PHRASES)
def test_phrases_of_fitters_are_taken_as_meant_or_asked_back(name: str) -> None:
    question = QUESTIONS[name]
    wrong = []
    for text, meant in PHRASES[name].items():
        assert meant in (ASK, UNSURE) or question.answer_of(meant), f"{name} has no answer {meant}"
        value = understand(question, text).value
        if value is not None and value != meant:
            wrong.append((text, meant, value))
    assert wrong == []


def test_most_plain_phrases_are_taken_at_once() -> None:
    plain = [(QUESTIONS[n], t, m) for n, table in PHRASES.items() for t, m in table.items() if m != ASK]
    took = [understand(question, text).value == meant for question, text, meant in plain]
    assert len(took) > 250
    assert sum(took) / len(took) > 0.95


@pytest.mark.parametrize("name", CHOICES)
def test_every_phrase_of_an_answer_is_taken_as_that_answer(name: str) -> None:
    question = CHOICES[name]
    for answer in question.answer:
        for phrase in (answer.id, answer.says, *answer.also, answer.says.upper(), f"  {answer.says}. "):
            assert taken(question, phrase) == {answer.id}, phrase


@pytest.mark.parametrize("form", ["no {}", "not {}", "{} not", "isn't {}", "there is no {}"])
def test_a_denial_beside_any_phrase_of_any_answer_never_yields_it(form: str) -> None:
    for name, answer_id, phrase in PHRASED:
        text = form.format(phrase)
        if answer_id in taken(CHOICES[name], text):
            assert authored(CHOICES[name], answer_id, text, phrase), (name, answer_id, text)


@settings(max_examples=600, deadline=None)
@given(st.sampled_from(PHRASED), st.sampled_from(DENIED))
@example(("joint/held-by", "screws", "screws"), "no {}")
def test_no_way_of_denying_yields_the_answer_denied(phrased: tuple[str, str, str], form: str) -> None:
    name, answer_id, phrase = phrased
    text = form.format(phrase)
    assume(not authored(CHOICES[name], answer_id, text, phrase))
    assert answer_id not in taken(CHOICES[name], text)


@settings(max_examples=600, deadline=None)
@given(st.sampled_from(PHRASED), st.sampled_from(DOUBTED))
def test_no_way_of_doubting_is_taken_as_an_answer(phrased: tuple[str, str, str], form: str) -> None:
    name, answer_id, phrase = phrased
    text = form.format(phrase)
    assume(not authored(CHOICES[name], answer_id, text, phrase))
    assert answer_id not in taken(CHOICES[name], text)


@settings(max_examples=400, deadline=None)
@given(
    st.sampled_from(PHRASED),
    st.data(),
    st.sampled_from(["{} or {}", "{}, {}", "{} and {}", "{} but {}", "{} / {}"]),
)
def test_two_answers_at_once_are_asked_back(
    first: tuple[str, str, str], data: st.DataObject, form: str
) -> None:
    name, answer_id, phrase = first
    question = CHOICES[name]
    others = [(a, p) for n, a, p in PHRASED if n == name and a != answer_id]
    other_id, other = data.draw(st.sampled_from(others))
    text = form.format(phrase, other)
    got = taken(question, text)
    if question.kind == "choice":
        for one, said in ((answer_id, phrase), (other_id, other)):
            assert one not in got or authored(question, one, text, said)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(QUESTIONS)), st.text(max_size=200))
def test_any_text_at_all_is_stood(name: str, text: str) -> None:
    assert isinstance(understand(QUESTIONS[name], text), Understood)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(PHRASED), st.text("abcdefghijklmnopqrstuvwxyzéß", min_size=5, max_size=8))
def test_a_word_that_is_not_known_to_be_harmless_asks_back(phrased: tuple[str, str, str], word: str) -> None:
    name, answer_id, phrase = phrased
    known = {w for _, _, p in PHRASED for w in words_of(p)} | set(words_of(CHOICES[name].ask))
    assume(words_of(word)[0] not in known | HARMLESS)
    assert answer_id not in taken(CHOICES[name], f"{phrase} {word}")


# What is asked back


def held_by(text: str) -> Understood:
    return understand(QUESTIONS["joint/held-by"], text)


def test_a_denied_answer_is_asked_back_with_the_others() -> None:
    assert held_by("no screws").among == ("clamp", "push-fit")


@pytest.mark.parametrize(
    ("typed", "near"),
    [("scrwes", ("screws",)), ("a clmap", ("clamp",)), ("screws or clamp", ("screws", "clamp")), ("1 or 3", ("screws", "push-fit")),
     ("screws?", ("screws",)), ("screws maybe", ("screws",)), ("zebra", ()), ("2 screws", ("screws",)), ("1: clamp", ("screws", "clamp"))],
)  # fmt: skip
def test_what_comes_near_is_offered(typed: str, near: tuple[str, ...]) -> None:
    understood = held_by(typed)
    assert understood.value is None
    assert set(near) <= set(understood.among)
    assert bool(near) == bool(understood.among)


@pytest.mark.parametrize(
    ("name", "typed"),
    [("through-wall/signs", "no staining but a smell"), ("through-wall/signs", "no staining"), ("through-wall/signs", "no soot"),
     ("through-wall/signs", "nothing but a smell"), ("joint/seal", "no damage"), ("joint/seal", "undamaged"), ("joint/seal", "undamged"),
     ("joint/seal", "unsound"), ("joint/seal", "no, torn"), ("joint/seal", "there but torn"), ("joint/seal", "no"), ("joint/held-by", "unscrewed"),
     ("joint/held-by", "un-screwed"), ("joint/held-by", "unclamped"), ("joint/held-by", "not 2"), ("joint/held-by", "screws removed"),
     ("joint/held-by", "screws but not tight"), ("joint/home", "fully out"), ("joint/home", "no it is not fully home"),
     ("through-wall/cavity", "no sleeve but a drip"), ("through-wall/cavity", "no sleeve, just a drip")],
)  # fmt: skip
def test_where_something_is_denied_or_set_against_it_every_answer_is_offered(name: str, typed: str) -> None:
    assert understand(QUESTIONS[name], typed) == Understood(None, tuple(a.id for a in QUESTIONS[name].answer))


@pytest.mark.parametrize(
    "form", [*DENIED, "{} but not now", "no {} but a smell", "{} except one", "all but {}"]
)
def test_beside_a_denial_or_a_contrast_no_answer_is_offered_alone(form: str) -> None:
    for name, _, phrase in PHRASED:
        understood = understand(CHOICES[name], form.format(phrase))
        assert understood.value is not None or len(understood.among) != 1, (name, form.format(phrase))


@pytest.mark.parametrize("typed", ["tape", "taped", "unscrewed", "screws missing", "was screwed"])
def test_what_is_no_screw_does_not_suggest_screws_alone(typed: str) -> None:
    assert held_by(typed).value is None
    assert held_by(typed).among != ("screws",)


def test_half_an_answer_is_asked_back_with_the_whole() -> None:
    assert understand(QUESTIONS["joint/seal"], "there").among == ("sound",)


@pytest.fixture
def at_signs(tmp_path: Path) -> Consultation:
    now = iter(f"2027-01-01T00:00:{n:02}" for n in range(60))
    talk, _ = Consultation.begin(load("through-wall"), tmp_path / "record.toml", lambda: next(now), True, "")
    talk.say("existing")
    return talk


@pytest.mark.parametrize("no", ["no", "n", "No.", "nope", "nah", "no, that is it"])
def test_no_to_the_one_answer_suggested_is_no_answer(at_signs: Consultation, no: str) -> None:
    with pytest.raises(Refused) as suggested:
        at_signs.say("alarm went off")
    assert suggested.value.hint == "Do you mean this? 2 Yes: alarm, staining, smell, or people unwell"
    for said in (no, no, "yes"):
        with pytest.raises(Refused) as which:
            at_signs.say(said)
        assert which.value.message == "then which one?"
        assert which.value.hint == "1 None; 2 Yes: alarm, staining, smell, or people unwell"
    assert at_signs.prompt is not None
    assert at_signs.prompt.key == "signs"
    at_signs.say("1")
    assert at_signs.session.facts["signs"].value == "none"


@pytest.mark.parametrize("yes", ["yes", "y", "Yes.", "yep", "yes it is"])
def test_yes_takes_the_one_answer_suggested(at_signs: Consultation, yes: str) -> None:
    with pytest.raises(Refused):
        at_signs.say("a bit of smell")
    at_signs.say(yes)
    assert at_signs.session.facts["signs"].value == "signs"


def test_a_suggestion_is_forgotten_once_something_else_is_done(at_signs: Consultation) -> None:
    with pytest.raises(Refused):
        at_signs.say("a bit of smell")
    at_signs.pick("none")
    at_signs.back()
    at_signs.say("no")
    assert at_signs.session.facts["signs"].value == "none"


def test_no_staining_but_a_smell_offers_both(at_signs: Consultation) -> None:
    with pytest.raises(Refused) as which:
        at_signs.say("no staining but a smell")
    assert which.value.hint.startswith("Which of these do you mean? 1 None; 2 Yes")
    assert "signs" not in at_signs.session.facts


@pytest.mark.parametrize(
    "typed", ["2", " 2 ", "2.", "2)", "(2)", "#2", "number 2", "option two", "2. A clamp", "2: clamp"]
)
def test_an_answer_can_be_picked_by_its_number(typed: str) -> None:
    assert held_by(typed).value == "clamp"


@pytest.mark.parametrize(
    "typed", ["0", "4", "99", "999", "-2", "2.5", "2 3", "two", "not 2", "2?", "1/2", "²", "no. 2"]
)
def test_no_other_number_picks_an_answer(typed: str) -> None:
    assert held_by(typed).value is None


def test_a_number_that_no_answer_has_is_refused_with_the_range() -> None:
    refused = held_by("4").refused
    assert refused is not None
    assert (refused.message, refused.hint) == ("there is no answer 4", "The answers are 1 to 3.")


def test_a_story_is_asked_back_however_it_begins() -> None:
    assert held_by("screws " + "and more of them " * 400 + "but all sheared off").value is None


def test_not_sure_is_refused_where_the_question_must_be_answered() -> None:
    understood = understand(QUESTIONS["joint/axis"], "no idea")
    assert understood.value is None
    assert understood.refused is not None


# Figures


def question(**fields: object) -> Question:
    base = {"kind": "measure", "ask": "How wide is the hole?", "unit": "mm", "least": 0, "most": 500}
    return Question.model_validate({**base, **fields})


@pytest.mark.parametrize(
    ("typed", "millimetres"),
    [("127", 127), ("127mm", 127), ("127 mm", 127), ("127 mm.", 127), ("12.7 cm", 127), ("12.7cm", 127), ("5 in", 127), ("5in", 127),
     ('5"', 127), ("5 inches", 127), ("0.127 m", 127), ("1/2 inch", None), ("½ in", None), (".5 in", None)],
)  # fmt: skip
def test_lengths_in_any_unit(typed: str, millimetres: int | None) -> None:
    value = understand(question(), typed).value
    assert value == (millimetres if millimetres is not None else exact(127) / 10)


@pytest.mark.parametrize(
    "typed",
    ["12,7", "1,200", "five", "5 or 6", "5-6", "5 to 6", "not 5", "no 5", "about 127", "~127", "127?", "127 ish", "roughly 5 in", "5 kg",
     "-5", "501", "nan", "inf", "1e400", "5 in 3", "under 5", "< 5", ">5", "127 not", "127 mm, not sure", "", "  ", "127 128"],
)  # fmt: skip
def test_what_is_no_single_figure_is_not_taken_as_one(typed: str) -> None:
    assert understand(question(), typed).value is None


@pytest.mark.parametrize(
    ("typed", "count"),
    [
        ("2", 2),
        ("two", 2),
        ("Two", 2),
        ("2 joints", 2),
        ("two joints", 2),
        ("one joint", 1),
        ("none", 0),
        ("no joints", 0),
        ("zero", 0),
    ],
)
def test_counts_in_figures_and_words(typed: str, count: int) -> None:
    counted = question(kind="count", ask="How many joints are there?", unit=None, most=8)
    assert understand(counted, typed).value == count


@pytest.mark.parametrize(
    "typed",
    ["two or three", "2 lengths", "a couple", "no", "not two", "2.5", "9", "two?", "2 joints or 3", "no two", "-2", "–2", "− 2", "- 2", "-2 joints", "-two",
     "(2)", "/2", "'2'"],
)  # fmt: skip
def test_what_is_no_single_count_is_not_taken_as_one(typed: str) -> None:
    counted = question(kind="count", ask="How many joints are there?", unit=None, most=8)
    assert understand(counted, typed).value is None


@pytest.mark.parametrize(
    "typed", ["not sure", "I'm not sure", "unsure", "no idea", "don't know", "dunno", "can't tell"]
)
def test_not_sure_of_a_measure(typed: str) -> None:
    assert understand(QUESTIONS["through-wall/core-diameter"], typed).value == NOT_SURE


def test_a_sign_before_a_count_is_not_dropped() -> None:
    refused = understand(QUESTIONS["through-wall/joint-count"], "-2").refused
    assert refused is not None
    assert refused.message == "−2 is outside what this can be"


# Several at once

NEAR = question(
    kind="several", ask="What is near?", unit=None, least=None, most=None,
    answer=[
        {"id": "eaves", "says": "Eaves", "also": ["overhang"]},
        {"id": "gutter", "says": "A gutter"},
        {"id": "window", "says": "A window that opens", "also": ["opening window", "door and window"]},
    ],
)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "ids"),
    [("1, 3", ("eaves", "window")), ("3,1", ("eaves", "window")), ("1 3", ("eaves", "window")), ("1 and 3", ("eaves", "window")),
     ("eaves and gutter", ("eaves", "gutter")), ("gutter, eaves and window", ("eaves", "gutter", "window")), ("eaves", ("eaves",)), ("eaves & gutter", ("eaves", "gutter")),
     ("door and window", ("window",)), ("none", ()), ("none of these", ()), ("nothing", ()), ("1, 1", ("eaves",)),
     ("eaves, no gutter", None), ("eaves but no gutter", None), ("everything except eaves", None), ("eaves or gutter", None), ("1, 9", None),
     ("none, eaves", None), ("not 1, 2", None), ("none?", None), ("no eaves", None), ("1 not 2", None), ("eaves and", ("eaves",)),
     ("neither eaves nor gutter", None), ("eaves, gutter?", None)],
)  # fmt: skip
def test_several(typed: str, ids: tuple[str, ...] | None) -> None:
    assert understand(NEAR, typed).value == ids


def test_several_partly_understood_is_asked_back_with_all_that_came_near() -> None:
    assert understand(NEAR, "eaves, gutr").among == ("eaves", "gutter")


# Notes


def test_a_note_is_kept_as_typed() -> None:
    note = question(kind="note", ask="Anything else?", unit=None, least=None, most=None)
    assert understand(note, "  No screws?\nMaybe ✗ ").value == "No screws?\nMaybe ✗"
    assert understand(note, "no idea").value == NOT_SURE
