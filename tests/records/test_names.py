"""The names read quickly are those the whole reading gives."""

from pathlib import Path

import pytest
from places import DEMO
from records.diary_folder import GARDEN, make_folder

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.ids import fold
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.names import Names, names_in


@pytest.mark.parametrize("which", ["demo", "small"])
def test_quick_names_are_the_librarys_and_the_seasons(which: str, tmp_path: Path) -> None:
    folder = DEMO if which == "demo" else make_folder(tmp_path / "s", measures="UK")
    library = load_library(folder)
    season = load_season(folder, library).season
    names = names_in(folder)
    assert set(names.crops.values()) == set(library.crops)
    assert {fold(n) for c in library.crops.values() for n in (c.name, *c.also)} == set(names.crops)
    assert set(names.products.values()) == set(library.product_names())
    for written, product in names.products.items():
        found = library.find_product(product)
        assert found is not None
        if written in names.crops:
            assert found[1].usual
    assert names.plantings == {p.id: p.crop for p in season.planting}
    assert names.measures == season.household.measures


def test_a_households_own_crop_file_counts(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    (folder / "crops").mkdir()
    (folder / "crops" / "medlar.toml").write_text(
        'name = "medlar"\nalso = [\n  "open-arse",\n]\n[[products]]\nform = "jelly"\nusual = true\n'
        '[products.density]\nvalue = "1 kg per L"\n[[refused]]\nform = "raw"\n'
    )
    names = names_in(folder)
    assert names.crops["open-arse"] == "medlar"
    assert names.products["medlar"] == "medlar, jelly"
    assert "medlar, raw" not in names.products


def test_a_crop_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    (folder / "crops").mkdir()
    for raw in (b'name = "medlar', 'name = "néflier"'.encode("latin-1")):
        (folder / "crops" / "medlar.toml").write_bytes(raw)
        with pytest.raises(FilesNeedMending, match=r"crops/medlar\.toml"):
            names_in(folder)


def test_folded_names() -> None:
    assert fold("Winter  Squash ,Purée") == "winter squash, puree"


def test_a_season_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    (folder / "season.toml").write_text(GARDEN.replace('"Test"', '"Test'))
    with pytest.raises(FilesNeedMending, match=r"season\.toml, line 2"):
        names_in(folder)
    with pytest.raises(FilesNeedMending, match="no such folder"):
        names_in(tmp_path / "nowhere")
    assert Names().measures == "US"
