"""What the station's page shows, as plain values and as a page: escaped, whole, and nothing of it a script."""

import re
from dataclasses import replace

from truethrow.worksheets.pages.floor import pages
from truethrow.worksheets.pages.floor.station_state import (
    Canceling,
    DidForm,
    HoleNow,
    HoleRow,
    InCrank,
    Mass,
    OnCrank,
    PlaneRow,
    StationState,
    Throw,
    Way,
)

SLIP = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
STATE = StationState("my", "A crank", 3, "stamp", "hole", "Drill", "Hole 1 of 2")


def test_a_job_is_called_by_its_name_where_it_has_another_than_its_address():
    assert STATE.name == "my"
    assert replace(STATE, name="船外機-7").name == "船外機-7"


def test_a_script_in_any_text_is_text():
    hole = HoleNow(1, 2, SLIP, SLIP, SLIP, SLIP, SLIP, SLIP, SLIP, "<svg></svg>", SLIP, False, SLIP)
    state = replace(
        STATE,
        title=SLIP,
        name=SLIP,
        step=SLIP,
        first=(SLIP,),
        ways=(Way(SLIP, "spins", "cancel", SLIP), Way(SLIP, "spin")),
        cancelings=(Canceling(SLIP, SLIP, SLIP),),
        did=DidForm((SLIP,), (SLIP,), (1,), reads_own=True),
        in_crank=((InCrank(SLIP, SLIP, SLIP, SLIP),),),
        beyond=(SLIP,),
        was_signed=SLIP,
        stops=(SLIP,),
        minds=(SLIP,),
        throws=(Throw(SLIP, SLIP, SLIP, SLIP),),
        over=(SLIP,),
        asked=SLIP,
        on=(OnCrank(SLIP, True),),
        masses=(Mass(SLIP, SLIP, SLIP, SLIP, SLIP, SLIP, SLIP),),
        test=(SLIP,),
        hole=hole,
        holes=(HoleRow(1, SLIP, SLIP),),
        plan=SLIP,
        said=SLIP,
        planes=(PlaneRow(SLIP, SLIP, SLIP, SLIP, SLIP, SLIP, SLIP, "outside"),),
        changed=(SLIP,),
        history=(SLIP,),
        against=(SLIP,),
        signed=SLIP,
        signature=SLIP,
    )
    page = pages.station_page(state, pages.station_main(state), SLIP, "station")
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    plain = pages.station_page(STATE, pages.station_main(STATE), "me", "station")
    assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", plain)
    scripts = re.findall(r"<script[^>]*>", page)
    assert all(re.fullmatch(r'<script src="/assets/\w+\.js"[^>]*>', one) for one in scripts)


def test_the_one_view_that_is_open_is_the_one_of_what_comes_next():
    for stage, view in (("hole", "hole"), ("signed", "sign"), ("stop", "look"), ("prove", "prove")):
        page = pages.station_main(replace(STATE, stage=stage))
        shown = re.findall(r'<section class="view" data-view="(\w+)">', page)
        assert shown == [view]
