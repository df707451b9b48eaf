"""What an upload knows of its courses once it holds them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event
from time import sleep

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from homeprog.storage.contacts import lock_courses
from homeprog.storage.models import HoldRow
from tests.regime_cast import on_regime
from tests.services.prompt_cast import at


def test_a_stop_that_another_upload_stores_meanwhile_is_not_overlooked(engine: Engine) -> None:
    """The second upload waits for the first, which sets a stop flag."""
    with Session(engine, expire_on_commit=False) as first:
        course = on_regime(first, at(8)).course
        first.commit()
        asking = Event()

        def second() -> bool:
            with Session(engine) as other:
                asking.set()
                return lock_courses(other, course.clinic_id, course.patient_id)[
                    course.id
                ].ever_stopped

        with ThreadPoolExecutor(1) as beside:
            lock_courses(first, course.clinic_id, course.patient_id)
            found = beside.submit(second)
            asking.wait()
            sleep(0.5)  # it waits for the lock by now
            first.add(
                HoldRow(
                    at=at(9), clinic_id=course.clinic_id, course_id=course.id, exercise=None,
                    kind="stop_flag", starts=at(9), reason="snap",
                )
            )  # fmt: skip
            first.flush()
            first.commit()
            assert found.result(timeout=20)
