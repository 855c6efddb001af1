"""Stations of crank types are kept as files, and taken again without the holes of the crank they came from."""

from __future__ import annotations

from pathlib import Path

from bench.command_line.station_templates import StationTemplates
from bench.models.stations import CrankStation, StationHole, StationSet


def some(crank_type: str = "cast 77/b") -> StationSet:
    station = CrankStation(
        name="disc",
        plane="front",
        position_mm=0.0,
        outer_radius_mm=92.0,
        drills_mm=(12.0,),
        most_depth_mm=20.0,
        holes=(StationHole(angle_deg=10.0, diameter_mm=12.0, depth_mm=9.0),),
    )
    return StationSet(crank_type=crank_type, measured=True, stations=(station,))


def test_a_template_comes_back_without_holes_and_without_the_claim_of_a_measurement(tmp_path: Path) -> None:
    templates = StationTemplates(tmp_path / "stations")
    assert templates.all() == ()
    assert templates.keep(some()) == ""
    assert templates.keep(some("a type")) == ""
    kept = templates.all()
    assert [s.crank_type for s in kept] == ["a type", "cast 77/b"]
    assert all(not s.measured and not s.stations[0].holes for s in kept)
    assert {p.parent for p in (tmp_path / "stations").iterdir()} == {tmp_path / "stations"}


def test_a_damaged_template_is_passed_over_and_one_that_cannot_be_kept_is_told(tmp_path: Path) -> None:
    templates = StationTemplates(tmp_path / "stations")
    templates.keep(some())
    (tmp_path / "stations" / "bad.json").write_text("{", encoding="utf-8")
    assert len(templates.all()) == 1
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "not kept" in StationTemplates(tmp_path / "file").keep(some())
