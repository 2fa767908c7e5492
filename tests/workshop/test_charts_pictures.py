"""The ladder, the pot and the flow of amounts."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from workshop.charts.flow import Flow, FlowLink, FlowNode, flow_svg
from workshop.charts.flow_layout import lay
from workshop.charts.ladder import Ladder, Mark, apart, height_of, ladder_svg
from workshop.charts.pot import Added, Point, PotPicture, pot_svg
from workshop.charts.pot_scale import steps

SVG = "{http://www.w3.org/2000/svg}"
BAD = '<script>alert("1")</script>'


def parts(svg: str, cls: str) -> list[ET.Element]:
    return [one for one in ET.fromstring(svg).iter() if cls in one.get("class", "").split()]


def a_ladder() -> Ladder:
    marks = (
        Mark("spirit", 96, "96"),
        Mark("menstruum", 80, "80"),
        Mark("jar", 78.7, "78.7", "plant water", 78.3, 79.1),
        Mark("combined", 28.2, "28.2", "", 27.7, 28.7, True),
    )
    return Ladder(marks=marks, start=78.7, end=28.2, floor=20, floor_words=f"floor {BAD}")


def a_pot() -> PotPicture:
    return PotPicture(
        volumes=(Point(0, 2600), Point(60, 2200), Point(120, 1900)),
        forecast=(Point(120, 1900), Point(210, 1407)),
        target=1407,
        target_words=f"target {BAD}",
        dry_out=620,
        dry_words="dry-out, 620 mL",
        added=(Added(60, "450 mL topped up"),),
        heat=(Point(0, 60), Point(60, 88)),
        band=(80, 95),
        band_words="80 to 95 °C",
        clock=((0, "09:10"), (210, "12:40")),
    )


def a_flow() -> Flow:
    keys = ["herb", "water", "tincture", "marc", "bulk", "loss"]
    nodes = tuple(
        FlowNode(key=one, code=one.upper(), title=BAD, shown="1 g", url=f"/lots/{one}/") for one in keys
    )
    links = (
        FlowLink("herb", "tincture", 100, "100 g"),
        FlowLink("herb", "marc", 300, "300 g"),
        FlowLink("water", "bulk", 800, "800 g"),
        FlowLink("tincture", "bulk", 100, "100 g"),
        FlowLink("marc", "loss", 200, "200 g"),
    )
    return Flow(nodes=nodes, links=links)


@pytest.mark.parametrize("svg", [ladder_svg(a_ladder()), pot_svg(a_pot()), flow_svg(a_flow())])
def test_a_picture_is_well_formed_named_and_free_of_script_and_style(svg: str) -> None:
    root = ET.fromstring(svg)
    assert "<script" not in svg
    assert not [one for one in root.iter() if one.tag.endswith(("script", "style")) or one.get("style")]
    ids = {one.get("id"): one.text for one in root.iter() if one.get("id")}
    assert ids[root.get("aria-labelledby")]
    assert ids[root.get("aria-describedby")]
    assert root.get("role") in ("img", "group")


def test_a_picture_is_the_same_every_time() -> None:
    assert ladder_svg(a_ladder()) == ladder_svg(a_ladder())
    assert pot_svg(a_pot()) == pot_svg(a_pot())
    assert flow_svg(a_flow()) == flow_svg(a_flow())


def test_strengths_stand_in_proportion_on_the_ladder() -> None:
    whole = height_of(0, height=600) - height_of(100, height=600)
    for abv in (20, 28.2, 80, 96):
        assert height_of(0, height=600) - height_of(abv, height=600) == pytest.approx(whole * abv / 100)
    dots = ET.fromstring(ladder_svg(a_ladder(), height=600)).findall(f".//{SVG}circle")
    assert {float(dot.get("cy", 0)) for dot in dots} == {
        round(height_of(abv, height=600), 1) for abv in (96, 80, 78.7, 28.2)
    }


def test_the_whisker_spans_its_uncertainty() -> None:
    per_percent = (height_of(0, height=650) - height_of(100, height=650)) / 100
    spans = [
        float(re.search(r"V([-\d.]+)", one.get("d", "")).group(1))
        for one in parts(ladder_svg(a_ladder()), "whisker")
    ]  # type: ignore[union-attr]
    tops = [
        float(one.get("d", "").split()[1].split("h")[0]) for one in parts(ladder_svg(a_ladder()), "whisker")
    ]
    assert [low - top for low, top in zip(spans, tops, strict=True)] == pytest.approx(
        [0.8 * per_percent, 1.0 * per_percent], abs=0.2
    )


def test_labels_of_close_strengths_do_not_overlap() -> None:
    crowd = tuple(Mark(f"jar {i}", 60 + i / 10, f"{60 + i / 10:.1f}", "beneath") for i in range(6))
    svg = ladder_svg(Ladder(marks=crowd, floor=61, floor_words="floor"))
    heights = sorted(
        float(one.get("y", 0))
        for one in ET.fromstring(svg).iter(f"{SVG}text")
        if float(one.get("x", 0)) > 170
    )
    labels = [y for y in heights if y]
    assert min(b - a for a, b in zip(labels, labels[1:], strict=False)) >= 18


def test_pushed_blocks_keep_order_and_stay_inside() -> None:
    tops = apart([0, 1, 2, 95, 96], [20] * 5, low=0, high=110)
    assert tops == sorted(tops)
    assert all(b - a >= 20 for a, b in zip(tops, tops[1:], strict=False))
    assert tops[-1] + 20 <= 110


def test_the_pots_level_is_drawn_to_scale() -> None:
    svg = pot_svg(a_pot())
    circles = [one for one in ET.fromstring(svg).iter(f"{SVG}circle") if "s-water" in one.get("class", "")]
    ys = [float(one.get("cy", 0)) for one in circles]
    assert (ys[1] - ys[0]) / (ys[2] - ys[0]) == pytest.approx(400 / 700, abs=0.01)
    (dry,), (target,) = parts(svg, "dry"), parts(svg, "target")
    line = {one.get("class"): float(one.get("d", "").split()[1].split("H")[0]) for one in (dry, target)}
    per_ml = (ys[2] - ys[0]) / 700
    assert line["s-brick dry"] - line["s-leaf target"] == pytest.approx((1407 - 620) * per_ml, abs=0.3)


def test_heat_outside_the_band_has_another_shape() -> None:
    svg = pot_svg(a_pot())
    assert len(parts(svg, "outside")) == 1
    assert len([one for one in ET.fromstring(svg).iter(f"{SVG}circle") if one.get("class") == "f-ink"]) == 1


def test_a_pot_without_readings_is_an_empty_frame() -> None:
    assert "No readings yet." in pot_svg(PotPicture())


def test_steps_are_round_and_inside() -> None:
    assert steps(0, 2912, 4) == [0, 1000, 2000]
    assert steps(47.7, 109.3, 2) == [50, 100]


def test_bands_are_as_wide_as_what_went() -> None:
    laid = lay(a_flow(), width=1100)
    widths = {(one.link.source, one.link.target): one.width for one in laid.bands}
    assert widths["herb", "marc"] == pytest.approx(3 * widths["herb", "tincture"])
    assert widths["water", "bulk"] == pytest.approx(8 * widths["tincture", "bulk"])
    for band in laid.bands:  # and the ribbon that is drawn has that width at both ends
        top = float(re.match(r"M[-\d.]+ ([-\d.]+)", band.path()).group(1))  # type: ignore[union-attr]
        low = float(re.search(r" ([-\d.]+)z$", band.path()).group(1))  # type: ignore[union-attr]
        assert low - top == pytest.approx(band.width, abs=0.2)


def test_a_long_band_passes_in_a_lane_of_its_own() -> None:
    laid = lay(a_flow(), width=1100)
    crossing = [one for one in laid.bands if (one.link.source, one.link.target) == ("water", "bulk")]
    assert len(crossing) == 3
    level = crossing[1]
    for box in laid.boxes:
        beside = box.x + 176 <= level.x1 or box.x >= level.x2
        apart_ = box.y >= level.y1 + level.width / 2 or box.y + box.height <= level.y1 - level.width / 2
        assert beside or apart_


@pytest.mark.parametrize("count", [0, 1, 2, 40])
def test_any_number_of_lots_flows_without_overlap(count: int) -> None:
    nodes = tuple(FlowNode(f"n{i}", f"L{i}", "Goods", "1 g") for i in range(count))
    links = tuple(FlowLink(f"n{(i - 1) // 3}", f"n{i}", 10.0) for i in range(1, count))
    laid = lay(Flow(nodes, links), width=1100)
    boxes = laid.boxes
    assert len(boxes) == count
    assert all(box.y >= 0 and box.y + box.height <= laid.height for box in boxes)
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a.x != b.x or a.y + a.height <= b.y or b.y + b.height <= a.y


def test_a_loop_in_the_book_still_ends() -> None:
    nodes = tuple(FlowNode(one, one, "", "") for one in "abc")
    links = (FlowLink("a", "b", 1), FlowLink("b", "c", 1), FlowLink("c", "a", 1), FlowLink("c", "gone", 1))
    assert ET.fromstring(flow_svg(Flow(nodes, links))) is not None
