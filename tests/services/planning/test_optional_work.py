"""Steps and services follow variants: an electric and a cable parking brake. All invented."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import ON, load, planned, unit
from kitting.errors import FileProblemsError, UnknownNameError
from kitting.facts.plan_reasons import VariantReason
from kitting.facts.verdicts import Verdict
from kitting.services.catalogue.load import LoadReport
from kitting.services.planning.jobs import list_jobs
from kitting.services.planning.variants import settle_variant
from kitting.store import reading
from kitting.views.plan import PlanView

ITEMS = """
  - {code: CLIP, name: Cable clip, kind: circlip}
  - {code: SEAL, name: Motor seal, kind: o-ring, elastomer: EPDM}
  - {code: PAD, name: Pad, kind: brake-pad}
"""
SPLIT = """
      {code: parking, question: "Which parking brake?", check: "Look for a motor.", options: [
        {code: motor, name: electric, equipment: motor-brake},
        {code: cable, name: by cable, without: motor-brake}]}
"""
JOINTS = """
      - code: caliper
        name: caliper
        system: brakes
        fits:
          - {item: PAD, position: pads, quantity: 2 each}
      - code: motor
        name: motor on the caliper
        system: brakes
        fits:
          - {item: SEAL, position: motor seal}
      - code: cable
        name: cable on the lever
        system: brakes
        fits:
          - {item: CLIP, position: cable clip}
"""
STEPS = """
      - {code: C1, name: motor off, hours: 0.3 h, opens: [motor], option: parking/motor}
      - {code: C2, name: cable off, hours: 0.4 h, opens: [cable], option: parking/cable}
      - {code: C3, name: caliper off, hours: 0.5 h, needs: [C1, C2], opens: [caliper]}
"""
JOBS = """
      - code: REAR
        name: rear pads
        needs: [C3]
        renews: [{kind: brake-pad}]
        services:
          - {name: drive the motor back, timing: before the job, option: parking/motor}
      - {code: MOTOR, name: motor only, needs: [C1]}
"""
TEXT = unit(JOINTS, STEPS, JOBS, ITEMS, SPLIT)
WITH = {"motor": "equipment: {motor-brake: true}", "cable": "equipment: {motor-brake: false}"}


def cars(text: str = TEXT) -> str:
    return text.replace(
        "vehicles:\n",
        "vehicles:\n"
        + "".join(
            f"  - {{registration: {name.upper()} 1, model: pell, {known}}}\n"
            for name, known in WITH.items()
        ),
    )


def told(view: PlanView) -> tuple[list[str], list[str], list[str], int]:
    """The steps, what is renewed, the services and the hours of a plan."""
    return (
        [step.code for step in view.steps],
        sorted(line.item for line in view.lines if not line.stopped_by),
        [service.name for service in view.services],
        view.hours.total,
    )


def changes(report: LoadReport) -> set[str]:
    """The sorts of entries that a load changed."""
    return {
        sort
        for sort, count in report.counts.items()
        if count.added or count.changed or count.removed
    }


@pytest.mark.parametrize(
    ("car", "steps", "items", "services", "hours"),
    [
        ("MOTOR 1", ["C1", "C3"], ["PAD", "SEAL"], ["drive the motor back"], 800),
        ("CABLE 1", ["C2", "C3"], ["CLIP", "PAD"], [], 900),
    ],
)
def test_a_car_takes_the_steps_joints_and_services_of_its_variant(
    store: Engine, car: str, steps: list[str], items: list[str], services: list[str], hours: int
) -> None:
    load(store, cars())
    view = planned(store, car, "REAR")
    assert told(view) == (steps, items, services, hours)
    assert not view.unresolved


def test_what_hangs_on_an_open_variant_waits_and_the_rest_goes_on(store: Engine) -> None:
    load(store, cars())
    view = planned(store, "PELL 001", "REAR")
    assert told(view) == (["C1", "C2", "C3"], ["PAD"], ["drive the motor back"], 500)
    waits = {step.code: step.stopped_by for step in view.steps}
    assert waits == {"C1": ("parking",), "C2": ("parking",), "C3": ()}
    assert view.services[0].stopped_by == ("parking",)
    stopped = sorted(line.item for line in view.lines if line.stopped_by)
    assert stopped == ["CLIP", "SEAL"]
    (split,) = view.unresolved
    assert split.stops == ("REAR",)
    options = {
        option.code: (option.items, option.steps, option.services) for option in split.options
    }
    assert options == {
        "motor": (("SEAL",), ("C1",), ("drive the motor back",)),
        "cable": (("CLIP",), ("C2",), ()),
    }
    assert view.verdict is Verdict.STOPPED


def test_a_variant_that_only_steps_hang_on_stops_the_job_too(store: Engine) -> None:
    bare = cars().replace("opens: [motor], ", "").replace("opens: [cable], ", "")
    load(store, bare)
    view = planned(store, "PELL 001", "REAR")
    assert [split.split for split in view.unresolved] == ["parking"]
    assert view.verdict is Verdict.STOPPED
    assert view.unresolved[0].why_open.code is VariantReason.NOT_KNOWN


def test_what_is_opened_either_way_waits_for_nothing(store: Engine) -> None:
    both = (
        cars()
        .replace("opens: [motor]", "opens: [caliper]")
        .replace("opens: [cable]", "opens: [caliper]")
    )
    load(store, both.replace("needs: [C1, C2], opens: [caliper]", "needs: [C1, C2]"))
    view = planned(store, "PELL 001", "REAR")
    assert [line.item for line in view.lines if not line.stopped_by] == ["PAD"]
    assert [split.split for split in view.unresolved] == ["parking"]


def test_settling_the_variant_plans_as_the_car_that_has_it(store: Engine) -> None:
    load(store, cars())
    settle_variant(store, "PELL 001", "parking", "cable")
    assert told(planned(store, "PELL 001", "REAR")) == told(planned(store, "CABLE 1", "REAR"))
    assumed = planned(store, "PELL 001", "REAR", assumed={"parking": "motor"})
    assert told(assumed) == told(planned(store, "MOTOR 1", "REAR"))


def test_a_job_of_another_variant_is_refused_with_the_reason(store: Engine) -> None:
    load(store, cars())
    with pytest.raises(UnknownNameError, match="job MOTOR is for another variant"):
        planned(store, "CABLE 1", "MOTOR")
    with reading(store) as session:
        hours = {
            job.code: job.hours
            for job in list_jobs(session, "CABLE 1", planned(store, "CABLE 1", "REAR").on)
        }
    assert hours == {"REAR": 900, "MOTOR": 0}


def test_a_step_of_an_unknown_option_is_refused_by_name(store: Engine) -> None:
    wrong = TEXT.replace("option: parking/cable", "option: parking/cabel")
    with pytest.raises(FileProblemsError) as caught:
        load(store, wrong)
    assert "step C2: variant 'parking/cabel': unknown name" in str(caught.value)
    assert "parking/cable" in str(caught.value)


def test_loading_again_changes_nothing_and_taking_the_option_out_does(store: Engine) -> None:
    load(store, TEXT)
    assert not changes(load(store, TEXT))
    plain = TEXT.replace(", option: parking/cable", "")
    assert changes(load(store, plain)) == {"steps"}
    assert {step.code for step in planned(store, "PELL 001", "REAR").steps if step.stopped_by} == {
        "C1"
    }


def test_a_step_that_needs_one_of_another_option_is_refused(store: Engine) -> None:
    wrong = TEXT.replace(
        "hours: 0.4 h, opens: [cable]", "hours: 0.4 h, needs: [C1], opens: [cable]"
    )
    with pytest.raises(FileProblemsError) as caught:
        load(store, wrong)
    assert (
        "unit grebe step C2: it is done with parking/cable only, and needs C1, which is done with"
        " parking/motor only: no car has both. Take the need out, or correct one of the options"
    ) in str(caught.value)


def test_a_list_of_jobs_says_which_wait_for_a_variant(store: Engine) -> None:
    load(store, cars())
    with reading(store) as session:
        jobs = {job.code: (job.hours, job.stopped_by) for job in list_jobs(session, "PELL 001", ON)}
        known = {job.code: job.stopped_by for job in list_jobs(session, "MOTOR 1", ON)}
    assert jobs == {"REAR": (500, ("parking",)), "MOTOR": (0, ("parking",))}
    assert set(known.values()) == {()}
