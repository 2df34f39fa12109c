"""Pages to take away: one a field, whole, in the reader's units; masked pages name nobody."""

import io
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from pptx import Presentation
from pptx.enum.shapes import MSO_SHAPE_TYPE
from pypdf import PdfReader

from analytics.cli import main
from analytics.errors import NotKnown
from analytics.report import mask, typeset
from dashboard import data
from dashboard.data import watering
from dashboard.views.paper.fields import fields_page
from dashboard.views.paper.made import Asked, report
from dashboard.views.paper.slides import meeting_slides
from dashboard.words import order as order_words

SIZES = {"letter": (612.0, 792.0), "a4": (595.3, 841.9)}  # points


@pytest.fixture
def store(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> data.Store:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    return data.opened()


def read(made: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(made)).pages]


def made(store: data.Store, asked: Asked) -> bytes:
    told: list[float] = []
    out = report(store, asked, lambda share, _: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1.0
    return out


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_field_has_one_page_that_says_it_all(store: data.Store, paper: str) -> None:
    out = made(store, Asked(fields=("corrie-12",), paper=paper))  # type: ignore[arg-type]
    (page,) = read(out)
    for words in (
        "Corrie 12 goes into corn", "although the top is wet", "Each layer, week by week",
        "Off-season tally", "What to do", "in the watering order: put on", "What this rests on",
        "Local water rules", "not an instruction",
    ):  # fmt: skip
        assert words in page, words
    box = PdfReader(io.BytesIO(out)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(SIZES[paper], abs=0.5)


def test_units_are_the_readers(store: data.Store) -> None:
    (page,) = read(made(store, Asked(fields=("corrie-12",), system="mm")))
    assert " mm short below 90 cm" in page
    assert " in short" not in page


def test_a_growers_pages_hold_their_fields_and_no_others(store: data.Store) -> None:
    pages = read(made(store, Asked(grower="Quenby Land")))
    fields = data.fields(store)
    own = fields[fields["grower"] == "Quenby Land"]
    assert len(pages) == 1 + len(own)
    told = " ".join(pages)
    assert all(name in told for name in own["name"])
    others = fields[fields["grower"] != "Quenby Land"]["name"]
    assert [name for name in others if name in told] == []


def test_the_list_of_fields_says_what_the_order_says(store: data.Store) -> None:
    blocks = fields_page(store, "", "in")
    rows = next(one["rows"] for one in blocks if one["kind"] == "table")
    told = {row[0]: row[5:] for row in rows}
    order = watering.present(store).order
    waiting = order[order["rank"].notna() & (order["net_mm"] == 0)].to_dict("records")
    assert waiting
    for row in waiting:
        assert told[row["name"]] == ["0.0", "—", "—", f"{row['unfilled_mm'] / 25.4:.1f}"]
    for name in order.loc[order["rank"].isna(), "name"]:
        assert told[name] == ["—"] * 4
    texts = [one["text"] for one in blocks if one["kind"] == "text"]
    assert order_words.answer(order, store.settings.named_from_mm) in texts


def test_a_masked_report_names_nobody_and_no_place(store: data.Store) -> None:
    for asked in (Asked(masked=True), Asked(fields=("corrie-12", "hask-4"), masked=True)):
        out = made(store, asked)
        told = " ".join(read(out)).casefold()
        hidden = mask.letters_of(data.naming(store))
        assert len(hidden) > 100
        assert [one for one in hidden if one.casefold() in told] == []
        assert re.search(r"\bfield [a-z]{1,2}\b", told)
        assert b"Corrie" not in out


def test_every_text_is_set_as_it_is() -> None:
    odd = "#strong[x] $y$ *z* <img src=x onerror=alert(1)> \\ `raw` @cite"
    page = [typeset.words("title", odd), typeset.table(["a", odd], [[odd, "1"]])]
    told = " ".join(read(typeset.pdf(odd, [page], foot=odd, paper="a4")))
    assert told.replace(" ", "").count(odd.replace(" ", "")) >= 3


def test_what_there_is_not_is_said(store: data.Store) -> None:
    with pytest.raises(NotKnown, match="no field 'nowhere'"):
        made(store, Asked(fields=("nowhere",)))
    with pytest.raises(NotKnown, match="Nobody called 'X'"):
        made(store, Asked(grower="X"))


def test_the_program_writes_the_file(demo_store: Path, tmp_path: Path) -> None:
    out = tmp_path / "all.pdf"
    assert main(["report", str(demo_store), "--out", str(out)]) == 0
    assert "34 fields" in read(out.read_bytes())[0]
    assert main(["report", str(demo_store), "--field", "nowhere", "--out", str(out)]) == 1


def deck_of(made: bytes) -> Any:
    """Open slides; the library's types do not tell a table from a picture."""
    return Presentation(io.BytesIO(made))


def parts_of(made: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(made)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def test_slides_hold_the_meeting_with_tables_that_can_be_edited(store: data.Store) -> None:
    deck = deck_of(meeting_slides(store, masked=False, system="in"))
    heads = [slide.shapes[0].text_frame.text for slide in deck.slides]
    assert re.fullmatch(r"\d+ of 34 fields .* short below 3 feet\.", heads[0])
    assert heads[1] == "The off-season, in five figures."
    assert heads[-2].startswith("Water goes to ")
    assert heads[-1] == "Before acting on this"
    assert len(heads) >= 5
    tables = [shape.table for slide in deck.slides for shape in slide.shapes if shape.has_table]
    assert [len(one.rows) for one in tables] == [6, 11]
    assert [cell.text for cell in tables[1].rows[0].cells] == [
        "Field", "Begins", "Put on, net", "Stays unfilled",
    ]  # fmt: skip
    for slide in deck.slides:
        for shape in slide.shapes:
            assert shape.left >= 0
            assert shape.left + shape.width <= deck.slide_width
            assert shape.top + shape.height <= deck.slide_height
            if shape.shape_type == MSO_SHAPE_TYPE.PICTURE:
                dots = shape.image.size[0] / (shape.width / 914_400)
                assert dots >= 120  # to the inch: sharp on a screen of 1,600 across
                assert shape._element.nvPicPr.cNvPr.get("descr")


def test_masked_slides_name_nobody_and_no_place(store: data.Store) -> None:
    made = meeting_slides(store, masked=True, system="in")
    told = " ".join(part.decode("utf-8", "ignore") for part in parts_of(made).values())
    hidden = mask.letters_of(data.naming(store))
    assert len(hidden) > 100
    found = [one for one in hidden
             if re.search(rf"(?<!\w){re.escape(one)}(?!\w)", told, re.IGNORECASE)]  # fmt: skip
    assert found == []
    assert "Field A" in told
    about = deck_of(made).core_properties
    assert (about.author, about.last_modified_by) == ("Overwinter", "Overwinter")


def test_the_program_writes_slides_where_the_file_is_called_so(
    demo_store: Path, tmp_path: Path
) -> None:
    out = tmp_path / "meeting.pptx"
    assert (
        main(["report", str(demo_store), "--masked", "--units", "mm", "--out", str(out)]) == 0
    )
    text = " ".join(shape.text_frame.text for slide in deck_of(out.read_bytes()).slides
                    for shape in slide.shapes if shape.has_text_frame)  # fmt: skip
    assert " mm short below 90 cm" in text
    refused = ["report", str(demo_store), "--field", "corrie-12", "--out", str(out)]
    assert main(refused) == 1
