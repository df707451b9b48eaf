"""Facts, confirmation and closing of a course."""

from datetime import date, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from homeprog.domain.errors import Conflict, Forbidden, Invalid, NotFound
from homeprog.services.check_facts import RepairEntry
from homeprog.services.close_course import close_course
from homeprog.services.confirm_course import confirm_course
from homeprog.services.correct_fact import correct_facts
from homeprog.services.set_regime import Wanted, set_regime
from homeprog.storage import courses
from homeprog.storage.models import Course, CourseEvent, CourseFact, HoldRow, Staff
from tests import cast
from tests.conftest import NOW
from tests.regime_cast import CONTROLLED, approved

LATER = NOW + timedelta(hours=1)
MIDDLE = RepairEntry("EDC", "VI", "middle")


@pytest.fixture
def anna(db: Session) -> Staff:
    return cast.staff(db, cast.clinic(db, NOW), NOW)


@pytest.fixture
def course(db: Session, anna: Staff) -> Course:
    return cast.enrolled(db, anna, NOW)


def regime_set(db: Session, course: Course, anna: Staff) -> None:
    surgeon = cast.staff(db, cast.workplace(db, anna), NOW, profession="surgeon", name="Sam Oye")
    by = cast.acting(anna)
    template = approved(db, by, cast.acting(surgeon, "surgeon"), CONTROLLED, NOW)
    set_regime(db, by, course.id, Wanted(template.id, template.body, "as the template"), NOW)


def holds(db: Session, course: Course) -> list[tuple[str, str | None]]:
    rows = db.scalars(select(HoldRow).where(HoldRow.course_id == course.id))
    return [(h.kind, h.exercise) for h in rows]


def test_a_fact_before_confirmation_is_a_new_row_and_holds_nothing(
    db: Session, anna: Staff, course: Course
) -> None:
    changed = correct_facts(db, cast.acting(anna), course.id, {"side": "right"}, LATER)
    assert changed == ["side"]
    assert courses.facts_in_force(db, course, NOW)["side"] == "left"
    assert courses.facts_in_force(db, course, LATER)["side"] == "right"
    assert holds(db, course) == []


def test_what_has_not_changed_is_not_written_again(
    db: Session, anna: Staff, course: Course
) -> None:
    before = len(db.scalars(select(CourseFact)).all())
    same = {"side": "left", "with_it": [], "operation_date": course.day_zero}
    assert correct_facts(db, cast.acting(anna), course.id, same, LATER, [MIDDLE]) == []
    assert len(db.scalars(select(CourseFact)).all()) == before


@pytest.mark.parametrize(
    ("facts", "repairs", "kind"),
    [
        ({"operation_date": date(2026, 5, 27)}, None, "date_corrected"),
        ({"side": "right"}, None, "facts_corrected"),
        ({}, [RepairEntry("EDC", "VI", "ring")], "facts_corrected"),
        ({}, [RepairEntry("EIP", "VI", "index")], "facts_corrected"),
    ],
)
def test_a_corrected_date_side_digit_or_structure_stops_the_course_until_release(
    db: Session, anna: Staff, facts: dict[str, object], repairs: list[RepairEntry] | None, kind: str
) -> None:
    course = cast.confirmed(db, anna, NOW)
    by = cast.acting(anna)
    with pytest.raises(Invalid) as wrong:
        correct_facts(db, by, course.id, facts, LATER, repairs)
    assert list(wrong.value.fields) == ["reason"]
    correct_facts(db, by, course.id, facts, LATER, repairs, "read wrongly")
    assert holds(db, course) == [("until_release", None)]
    assert [e.kind for e in courses.events(db, course, LATER, courses.CORRECTED)] == [kind]
    assert courses.confirmation(db, course, LATER) is None
    assert courses.hand_for_phone(db, course, LATER) == (None, frozenset())
    assert courses.state(db, course, LATER) == "confirmed"
    assert course.day_zero == date(2026, 5, 28)


def test_another_fact_of_a_confirmed_course_stops_nothing(db: Session, anna: Staff) -> None:
    course = cast.confirmed(db, anna, NOW)
    correct_facts(db, cast.acting(anna), course.id, {"worn": "plaster"}, LATER)
    assert holds(db, course) == []
    assert courses.confirmation(db, course, LATER) is not None


def test_after_a_correction_the_hand_is_asked_anew(db: Session, anna: Staff) -> None:
    course = cast.confirmed(db, anna, NOW)
    regime_set(db, course, anna)
    by = cast.acting(anna)
    assert courses.hand_question(db, course, NOW) is None
    correct_facts(db, by, course.id, {"side": "right"}, LATER, reason="letter was wrong")
    again = LATER + timedelta(minutes=5)
    said = confirm_course(db, by, course.id, "surgeon", "Mr Oyelaran, rung 15:00", again)
    asked = courses.hand_question(db, course, again)
    assert asked is not None
    assert asked.id == said.id
    assert courses.not_read_back(db, course, again)
    assert courses.hand_for_phone(db, course, again) == ("right", {"middle"})


def test_confirming_names_what_is_still_missing(db: Session, anna: Staff, course: Course) -> None:
    with pytest.raises(Conflict) as wrong:
        confirm_course(db, cast.acting(anna), course.id, "letter", "of 28 May", LATER)
    assert wrong.value.fields == {"missing": ["regime"]}


def test_only_a_clinician_confirms_and_names_the_source(
    db: Session, anna: Staff, course: Course
) -> None:
    regime_set(db, course, anna)
    with pytest.raises(Forbidden):
        confirm_course(db, cast.acting(anna, None), course.id, "letter", "of 28 May", LATER)
    with pytest.raises(Invalid) as wrong:
        confirm_course(db, cast.acting(anna), course.id, "memory", " ", LATER)
    assert set(wrong.value.fields) == {"source", "source_words"}
    said = confirm_course(db, cast.acting(anna), course.id, "letter", "of 28 May", LATER)
    assert said.figures == {"source": "letter", "source_words": "of 28 May"}
    with pytest.raises(Conflict):
        confirm_course(db, cast.acting(anna), course.id, "letter", "of 28 May", LATER)


def test_an_unconfirmed_course_tells_a_phone_neither_hand_nor_finger(
    db: Session, course: Course
) -> None:
    assert courses.hand_and_finger(db, course, NOW) == ("Left hand", "middle finger")
    assert courses.hand_for_phone(db, course, NOW) == (None, frozenset())


def test_no_to_is_this_your_hand_leaves_it_not_read_back(db: Session, anna: Staff) -> None:
    course = cast.confirmed(db, anna, NOW, read_back=False)
    question = courses.hand_question(db, course, NOW)
    assert question is not None
    said = CourseEvent(
        clinic_id=course.clinic_id, at=LATER, course_id=course.id, kind="read_back_no",
        figures={"question": str(question.id)},
    )  # fmt: skip
    db.add(said)
    db.flush()
    assert courses.read_back(db, course, question.id, LATER) == "no"
    assert courses.not_read_back(db, course, LATER)


def test_a_closed_course_takes_no_facts_and_is_not_closed_twice(
    db: Session, anna: Staff, course: Course
) -> None:
    by = cast.acting(anna)
    close_course(db, by, course.id, "completed", "", LATER)
    assert courses.state(db, course, LATER) == "closed"
    assert courses.state(db, course, NOW) == "unconfirmed"
    assert courses.open_courses(db, course.clinic_id) == []
    with pytest.raises(Conflict):
        correct_facts(db, by, course.id, {"side": "right"}, LATER)
    with pytest.raises(Conflict):
        close_course(db, by, course.id, "completed", "", LATER)


def test_opened_in_error_says_what_was_wrong_and_an_enroller_closes_nothing(
    db: Session, anna: Staff, course: Course
) -> None:
    with pytest.raises(Invalid) as wrong:
        close_course(db, cast.acting(anna), course.id, "opened_in_error", "", LATER)
    assert list(wrong.value.fields) == ["words"]
    clerk = cast.staff(db, cast.workplace(db, anna), NOW, "enroller", None, "Carl Frey")
    with pytest.raises(Forbidden):
        close_course(db, cast.acting(clerk, None), course.id, "completed", "", LATER)


def test_the_last_repair_is_not_emptied_out(db: Session, anna: Staff, course: Course) -> None:
    with pytest.raises(Invalid) as wrong:
        correct_facts(db, cast.acting(anna), course.id, {}, LATER, [])
    assert list(wrong.value.fields) == ["repairs"]


@pytest.mark.parametrize(
    ("repair", "field"),
    [
        (RepairEntry("EDC", "VI"), "digit"),
        (RepairEntry("ECRL", "VII", "ring"), "digit"),
        (RepairEntry("EPL", "VI", "thumb"), "zone"),
        (RepairEntry("EDC", "TIII", "middle"), "zone"),
        (RepairEntry("EIP", "VI", "small"), "digit"),
        (RepairEntry("EPL", "TIII", "thumb", joint="PIP"), "joint"),
        (RepairEntry("EDC", "VI", "middle", wired=True), "joint"),
    ],
)
def test_a_repair_whose_parts_cannot_belong_together_is_refused(
    db: Session, anna: Staff, course: Course, repair: RepairEntry, field: str
) -> None:
    with pytest.raises(Invalid) as wrong:
        correct_facts(db, cast.acting(anna), course.id, {}, LATER, [repair])
    assert f"repairs.0.{field}" in wrong.value.fields


def test_a_therapist_must_be_a_clinician_of_the_same_clinic(
    db: Session, anna: Staff, course: Course
) -> None:
    other = cast.staff(db, cast.clinic(db, NOW, "Quay Hand Unit"), NOW, name="Stig Ek")
    with pytest.raises(Invalid) as wrong:
        correct_facts(db, cast.acting(anna), course.id, {"therapist": str(other.id)}, LATER)
    assert list(wrong.value.fields) == ["therapist"]
    with pytest.raises(NotFound):
        correct_facts(db, cast.acting(other), course.id, {"side": "right"}, LATER)


def test_what_is_worn_is_changed_under_a_paired_phone_only_where_its_texts_are_signed(
    db: Session, anna: Staff, course: Course
) -> None:
    by = cast.acting(anna)
    correct_facts(db, by, course.id, {"worn": "plaster"}, LATER)  # no phone: pairing will ask
    cast.phone(db, course, LATER)
    with pytest.raises(Invalid) as refused:
        correct_facts(db, by, course.id, {"worn": "sling"}, LATER + timedelta(minutes=1))
    said = refused.value.fields["worn"]
    lacks = "Text not signed: trouble.white_blue_cold.sling. Sign it first: a phone is paired."
    assert lacks in said
    cast.signed(db, anna, LATER)
    later = LATER + timedelta(minutes=2)
    assert correct_facts(db, by, course.id, {"worn": "sling"}, later) == ["worn"]


def test_a_course_is_confirmed_under_a_paired_phone_only_where_the_texts_of_phase_0_are_signed(
    db: Session, anna: Staff, course: Course
) -> None:
    regime_set(db, course, anna)
    cast.phone(db, course, LATER)
    with pytest.raises(Conflict) as refused:
        confirm_course(db, cast.acting(anna), course.id, "letter", "of 2 June", LATER)
    assert refused.value.code == "texts_unsigned"
    cast.signed(db, anna, LATER)
    assert confirm_course(db, cast.acting(anna), course.id, "letter", "of 2 June", LATER)
