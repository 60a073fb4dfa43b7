"""Outlines of the user's own: read, checked, brought down to shapes and names; the keys of [map]."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from intake_small_inputs import write

from roundplan.intake import FindingsError, read_round, snapshot

SQUARE = {"type": "Polygon", "coordinates": [[[33, -13], [34, -13], [34, -12], [33, -12], [33, -13]]]}


def inputs(folder: Path, content: Any, keys: str = 'base = "own.geojson"') -> Path:
    """Write the small inputs with a section [map] and the file that it names."""
    write(folder)
    toml = folder / "round.toml"
    toml.write_text(toml.read_text(encoding="utf-8") + f"\n[map]\n{keys}\n", encoding="utf-8")
    text = content if isinstance(content, str) else json.dumps(content)
    (folder / "own.geojson").write_text(text, encoding="utf-8")
    return folder


def refused(folder: Path) -> str:
    with pytest.raises(FindingsError) as caught:
        read_round(folder)
    return "\n".join(map(str, caught.value.findings))


def collection(*geometries: Any) -> dict[str, Any]:
    features = [
        {"type": "Feature", "properties": {"name": f"N{number}"}, "geometry": geometry}
        for number, geometry in enumerate(geometries)
    ]
    return {"type": "FeatureCollection", "features": features}


def test_shapes_and_names_alone_are_taken(tmp_path: Path) -> None:
    content = collection(
        SQUARE, None, {"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [33, -13, 900]}]}
    )
    content["features"][0]["properties"] |= {"style": "evil", "phone": "+000"}
    content["features"][0]["bbox"] = [1, 2, 3, 4]
    made = json.loads(read_round(inputs(tmp_path, content)).base_map)
    assert made == {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": {"name": "N0"}, "geometry": SQUARE},
            {"type": "Feature", "properties": {"name": "N2"}, "geometry": {"type": "Point", "coordinates": [33, -13]}},
        ],
    }


def test_a_feature_and_a_bare_geometry_are_geojson_too(tmp_path: Path) -> None:
    for number, content in enumerate((SQUARE, {"type": "Feature", "properties": None, "geometry": SQUARE})):
        folder = tmp_path / str(number)
        folder.mkdir()
        assert json.loads(read_round(inputs(folder, content)).base_map)["features"][0]["geometry"] == SQUARE


def test_the_snapshot_reads_as_the_same_again(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    reading = read_round(inputs(tmp_path / "in", collection(SQUARE)))
    snapshot(reading, tmp_path / "copy")
    again = read_round(tmp_path / "copy")
    assert again.base_map == reading.base_map != ""
    assert again.training_round.settings.map == reading.training_round.settings.map


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("not json", "is no JSON"),
        ("[" * 100_000, "is no JSON"),
        ([], "is no GeoJSON"),
        ({"type": "Topology"}, "is no GeoJSON"),
        ({"type": "FeatureCollection"}, "has no list of features"),
        (collection(), "holds no shapes"),
        ({**collection(SQUARE), "crs": {"properties": {"name": "EPSG:32736"}}}, "is not in degrees of WGS 84"),
        (collection(SQUARE, {"type": "Point", "coordinates": [512_000, 8_500_000]}), "feature 2: a position lies"),
        (collection({"type": "Point", "coordinates": ["33", -13]}), "a position is no pair of numbers"),
        (collection({"type": "Point", "coordinates": [True, 1]}), "a position is no pair of numbers"),
        ('{"type": "Point", "coordinates": [NaN, 1]}', "a position is no pair of numbers"),
        ('{"type": "Point", "coordinates": [1' + "0" * 400 + ", 1]}", "a position is no pair of numbers"),
        (collection({"type": "LineString", "coordinates": [[33, -13]]}), "a line has fewer than two positions"),
        (collection({"type": "Polygon", "coordinates": [[[33, -13], [34, -13], [34, -12]]]}), "a ring has fewer"),
        (collection({"type": "Polygon", "coordinates": [[33, -13], [34, -13]]}), "a position is no pair"),
        (collection({"type": "Circle", "coordinates": [33, -13]}), "of no kind that GeoJSON knows"),
        (collection({"type": "GeometryCollection"}), "has no list of geometries"),
        (collection(*[{"type": "LineString", "coordinates": []}] * 3), "feature 1 and 2 more: a line"),
    ],
)  # fmt: skip
def test_what_is_no_geojson_is_said_where_it_was_named(tmp_path: Path, content: Any, words: str) -> None:
    found = refused(inputs(tmp_path, content))
    assert words in found
    assert found.startswith("round.toml, line ")
    assert "map.base, “own.geojson”" in found


def test_a_file_that_is_missing_or_too_large_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = inputs(tmp_path, collection(SQUARE))
    monkeypatch.setattr("roundplan.intake.base_map.MOST_MEGABYTES", 0)
    assert "is larger than 0 megabytes" in refused(folder)
    (folder / "own.geojson").unlink()
    assert "is not there" in refused(folder)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ('base = "../secret.json"', "is no name of a GeoJSON file"),
        ('base = "/etc/own.json"', "is no name of a GeoJSON file"),
        ('base = "own.txt"', "is no name of a GeoJSON file"),
        ('base = ".own.json"', "is no name of a GeoJSON file"),
        ('tiles = "http://pictures.example/{z}/{x}/{y}.png"', "is no address of map pictures"),
        ('tiles = "https://pictures.example/{z}/{x}.png"', "is no address of map pictures"),
        ('tiles = "https://pictures.example/{z}/{x}/{y}/{token}"', "is no address of map pictures"),
        ('tiles = "https://pictures.example/{z}/{x}/{y}\';alert(1)//"', "is no address of map pictures"),
        ('tiles = "https://a.example; script-src *//{z}/{x}/{y}"', "is no address of map pictures"),
        ('tiles = "https://pictures.example/{z}/{x}/{y}.png"', "does not say whom the pictures are by"),
    ],
)
def test_keys_of_the_map_are_checked(tmp_path: Path, keys: str, words: str) -> None:
    assert words in refused(inputs(tmp_path, collection(SQUARE), keys))


def test_background_pictures_with_their_credit_are_taken(tmp_path: Path) -> None:
    keys = 'tiles = "https://pictures.example/{z}/{x}/{y}.png?k=1"\ntiles_credit = "Example"'
    settings = read_round(inputs(tmp_path, collection(SQUARE), keys)).training_round.settings.map
    assert settings.tiles == "https://pictures.example/{z}/{x}/{y}.png?k=1"
    assert settings.tiles_credit == "Example"
