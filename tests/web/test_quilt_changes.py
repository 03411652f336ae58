"""A quilt's plan changed on its page: told what that does, kept, copied, set aside, deleted."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.errors import NotFoundError
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_cut import cut_scraps
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

FIELDS = {"rows": "2", "across": "3", "shape": "square", "size": "2 in", "setting": "side by side"}


@pytest.fixture(scope="module")
def quilted(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path, dict]]:
    """A quilt of six pieces, laid out, of which one scrap's are cut; and its form as shown."""
    home = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    fill_stash(store, 12)
    quilt = make_quilt(store, QuiltRequest("Bay", "square", "2", rows=2, across=3, charm=True))
    allot_quilt(store, "Bay")
    lay_out(store, "Bay", LayoutRequest())
    cut_scraps(store, "Bay", [quilt_named(store, "Bay").pieces[0].scrap])
    form = {**FIELDS, "setting": quilt.plan.setting, "palette": "", "rule": "charm", "limit": "1"}
    with serving(home) as served:
        yield served, home, form


def would(served: Served, form: dict, **changes: str) -> str:
    asked = {"name": "Bay", "whole": "1", **form, **changes}
    return served.client.get("/quilt/change/would", params=asked).text


def test_what_a_change_does_is_told_before_and_nothing_is_kept(quilted) -> None:
    served, home, form = quilted
    before = quilt_named(open_store(home), "Bay")
    assert "data-same" in would(served, form)
    more = would(served, form, rows="3")
    assert "9 pieces" in more and "1 cut pieces stay" in more
    refused = would(served, form, size="3 in")
    assert 'role="alert"' in refused and "cut" in refused
    assert quilt_named(open_store(home), "Bay") == before


def test_a_row_more_is_kept_and_what_is_cut_stays(quilted) -> None:
    served, home, form = quilted
    assert served.post("/quilt/change", name="Bay", **{**form, "rows": "3"}).status_code == 303
    quilt = quilt_named(open_store(home), "Bay")
    assert (quilt.plan.rows, quilt.plan.limit, quilt.cut_count) == (3, 1, 1)
    served.post("/undo")
    assert quilt_named(open_store(home), "Bay").plan.rows == 2


def test_another_size_of_what_is_cut_is_refused_in_the_form(quilted) -> None:
    served, home, form = quilted
    answer = served.post("/quilt/change", name="Bay", **{**form, "size": "3"})
    assert answer.status_code == 422
    assert 'value="3"' in answer.text and "would waste" in answer.text
    assert quilt_named(open_store(home), "Bay").plan.size == "2"


def test_wishes_are_kept_and_taken_back_in_the_form(quilted) -> None:
    served, home, form = quilted
    quilt = quilt_named(open_store(home), "Bay")
    one, other = (piece for piece in quilt.pieces[1:3])
    wished = {"surely": str(other.scrap), "never": str(one.scrap), "kinds": "plain", "amounts": ""}
    told = would(served, form, never=str(one.scrap))
    assert "1 chosen pieces are let go" in told and "1 pieces are to be found" in told
    assert "wished surely and never" in would(
        served, form, surely=str(one.scrap), never=str(one.scrap)
    )
    served.post("/quilt/change", name="Bay", **{**form, **wished, "surely": "", "kinds": ""})
    plan = quilt_named(open_store(home), "Bay").plan
    assert (plan.never, plan.surely) == ((one.fabric,), ())
    page = served.client.get("/quilt?name=Bay").text
    assert "Choose scraps for the 1 missing" in page
    served.post("/quilt/change", name="Bay", **form)
    assert quilt_named(open_store(home), "Bay").plan.never == ()
    served.post("/undo")
    served.post("/undo")


def test_what_is_short_is_mended_by_one_tap_before_anything_is_bought(quilted) -> None:
    served, home, form = quilted
    served.post(
        "/quilts", name="Long", shape="square", size="2", rows="9", across="3", rule="charm"
    )
    page = served.client.get("/quilt?name=Long").text
    ways = re.findall(r'name="way" value="([^"]+)"', page)
    rows = int(ways[0].removeprefix("rows="))
    assert page.index(ways[0]) < page.index("Buy")
    kept = {**form, "name": "Long", "size": "2 in", "rows": "9"}
    assert "Yes: this quilt can" in would(served, {**kept, "rows": str(rows)})
    assert "Not yet" in would(served, {**kept, "rows": str(rows + 1)})
    served.post("/quilt/change", **kept, way=ways[0])
    assert quilt_named(open_store(home), "Long").plan.rows == rows


def test_a_row_is_told_as_sewn_when_it_is_cut(quilted) -> None:
    served, home, _ = quilted
    cut_scraps(open_store(home), "Bay", quilt_named(open_store(home), "Bay").held_scraps)
    assert served.post("/quilt/sewn", name="Bay", row="1").status_code == 303
    assert set(quilt_named(open_store(home), "Bay").sewn) == {"1.1", "1.2", "1.3"}
    page = served.client.get("/quilt/sew?name=Bay").text
    assert 'data-step="row-1" data-told' in page and 'data-step="row-2" data-told' not in page
    assert served.post("/quilt/sewn", name="Bay", row="9").status_code == 422


def test_a_spoilt_piece_is_replaced_and_a_piece_is_refused_by_its_place(quilted) -> None:
    served, home, _ = quilted
    quilt = quilt_named(open_store(home), "Bay")
    assert quilt.pieces[quilt.piece_at[1]].cut
    served.post("/quilt/layout", name="Bay", what="spoilt", one="1.2")
    now = quilt_named(open_store(home), "Bay")
    assert len(now.spoilt) == 1 and not now.pieces[now.piece_at[1]].cut
    assert "1 was spoilt" in served.client.get("/quilt?name=Bay").text
    refused = served.post("/quilt/layout", name="Bay", what="never", one="1.2")
    assert refused.status_code == 303
    assert quilt_named(open_store(home), "Bay").plan.never == (now.pieces[now.piece_at[1]].fabric,)
    assert served.post("/quilt/layout", name="Bay", what="never", one="9.9").status_code == 422


def test_a_quilt_is_copied_set_aside_and_deleted_undoably(quilted) -> None:
    served, home, _ = quilted
    assert served.post("/quilt/copy", name="Bay").status_code == 303
    assert quilt_named(open_store(home), "Bay, copy").plan.rows == 2
    served.post("/quilt/aside", name="Bay, copy", what="aside")
    assert quilt_named(open_store(home), "Bay, copy").set_aside
    served.post("/quilt/delete", name="Bay, copy")
    with pytest.raises(NotFoundError):
        quilt_named(open_store(home), "Bay, copy")
    served.post("/undo")
    assert quilt_named(open_store(home), "Bay, copy").set_aside
