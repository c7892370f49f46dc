"""What the site says of each model is found in the library: none is forgotten, and what is drawn is right."""

import importlib
import inspect
import pkgutil
import re

import pytest
from docutils.utils.math.latex2mathml import tex2mathml

import edgestore.docs_site as docs_site
from edgestore import models
from edgestore.checks import InputError
from edgestore.docs_site.__main__ import main
from edgestore.docs_site.bars import bars
from edgestore.docs_site.curves import curve
from edgestore.docs_site.digits import digits
from edgestore.docs_site.entries import entries
from edgestore.docs_site.lines import lines
from edgestore.docs_site.pictures import no_picture, picture
from edgestore.docs_site.series import series, steps, windows
from edgestore.verification import own_check_files, read_checks

ENTRIES = entries()
FORMULA = re.compile(r"\.\. math:: (.*?)\n\s*\n", re.DOTALL)


def entry(path):
    return ENTRIES[f"edgestore.models.{path}"]


def test_every_public_function_of_the_models_has_its_entry():
    found = (info.name for info in pkgutil.walk_packages(models.__path__, f"{models.__name__}."))
    modules = [importlib.import_module(name) for name in found if not name.rpartition(".")[2].startswith("_")]
    public = {
        thing
        for module in modules
        for name, thing in inspect.getmembers(module, inspect.isfunction)
        if thing.__module__ == module.__name__ and not name.startswith("_")
    }
    assert len(public) > 100
    assert {thing.__qualname__ for thing in public - {one.thing for one in ENTRIES.values()}} == set()


def test_every_check_value_of_a_model_stands_with_one_entry():
    shown = [check for one in ENTRIES.values() for check in one.checks]
    names = {one.name for one in ENTRIES.values()}
    of_models = [check for check in read_checks(own_check_files()) if check.quantity.split(".")[0] in names]
    assert len(of_models) > 400
    assert len(shown) == len(of_models)


def test_every_formula_can_be_set_and_every_question_of_numbers_has_one():
    asked = set()
    for one in ENTRIES.values():
        for formula in FORMULA.findall(f"{inspect.getdoc(one.thing)}\n\n"):
            assert tex2mathml(formula).startswith("<math"), one.path
            assert re.search(r"[=≈]|\\(approx|propto|le|ge)\b", formula.split(r"\sum_")[0]), f"no left side: {one.path}"
            asked.add(one.question)
    assert set(models.__all__) - asked == {"registers"}  # which are read, not computed


@pytest.mark.landing  # each picture is computed
def test_every_function_has_a_picture_or_a_reason_and_never_both():
    functions = [one for one in ENTRIES.values() if inspect.isfunction(one.thing)]
    assert {one.name for one in functions if picture(one) is None} == no_picture().keys()


@pytest.mark.landing  # each picture is computed
def test_no_axis_has_a_name_of_the_program():
    named = {one.path: found for one in ENTRIES.values() if (found := curve(one) or lines(one))}
    axes = {path: (found.argument, found.quantity) for path, found in named.items()}
    odd = re.compile(r"_|\b([Cc]v|[Mm]tbf|ev|[Ee]vpi|[Ee]vsi|[Ff]ifo|[Pp]5|[Pp]10)\b")
    assert {path: words for path, words in axes.items() if any(odd.search(word) for word in words)} == {}


def test_a_range_is_drawn_as_two_lines_through_its_check_value():
    drawn = lines(entry("rate.mean_range_mbit_s"))
    # data/measured: quiet scenes ran at 8 to 100 % of a cap of 4.096 Mbit/s; both ends are in proportion to the cap.
    assert (drawn.at, drawn.expected) == (4.096, (0.31591, 4.096))
    assert drawn.rows[1] == pytest.approx(drawn.over)
    assert "the check values are 0.31591, 4.096 at 4.096" in drawn.alt_text


def test_marks_are_drawn_as_bars_of_what_they_promise():
    # SD Physical Layer Simplified Specification 4.10, Table 4-59; SD Association, Speed Class page.
    assert bars(entry("speed.min_write_mbyte_s")).values["C10"] == 10
    assert bars(entry("speed.min_write_mbyte_s")).values["V90"] == 90


def test_data_writes_and_windows_are_drawn_as_they_follow_one_another():
    # A ring of three pages is written 0, 1, 2 and round again.
    assert "writes: 0, 1, 2, 0, 1, 2, 0" in steps(entry("wear.circular_writes")).alt_text
    # The annual flow of the Nile, 1871 to 1970, least 456 and most 1370.
    assert "100 numbers from 456 to 1370" in series(entry("wear.slow_down_tb")).alt_text
    assert "Visits after 6, 12 years meet each" in windows(entry("upkeep.fewest_visits")).alt_text


def test_the_line_is_the_model_over_one_argument_and_goes_through_the_check_value():
    drawn = curve(entry("retention.retention_h"))
    # UFC 4-021-02NF (2006), Figure 4-9: the stream writes 540 MB an hour, and 389 GB hold 30 days, 720 h.
    assert (drawn.argument, drawn.quantity, drawn.at, drawn.expected) == ("Capacity (GB)", "Retention (h)", 389, 720)
    assert drawn.values == pytest.approx([capacity_gb / 0.540 for capacity_gb in drawn.over])
    assert drawn.over[-1] == 4 * 389
    assert "the check value is 720 at 389" in drawn.alt_text


def test_a_row_of_check_values_is_drawn_through_one_of_them():
    drawn = curve(entry("wear.write_amplification_static"))
    # 1 / (1 - fraction): a fifth makes 1.25, a half 2.
    assert (drawn.at, drawn.expected) in {(0.2, 1.25), (0.5, 2)}
    assert drawn.values == pytest.approx([1 / (1 - fraction) for fraction in drawn.over])


def test_nothing_is_drawn_over_a_row_that_is_one_argument():
    assert curve(entry("uncertainty.evpi")) is None


def test_the_digits_of_a_register_are_those_of_its_specification():
    read_from = digits(entry("registers.decoded_csd")).read_from
    # SD Physical Layer Simplified Specification, CSD version 2.0: READ_BL_LEN is bits 83:80, CCC 95:84; of 32 digits
    # of four bits, the first of which has 127:124, the eleventh has 87:84 and the twelfth 83:80, counted from 1.
    assert read_from["read_block_bytes"] == (11,)
    assert read_from["command_classes"] == (8, 9, 10)


def test_a_picture_is_the_same_each_time():
    for path in ("retention.retention_h", "registers.decoded_cid", "rate.mean_range_mbit_s", "wear.circular_writes"):
        assert picture(entry(path)).svg() == picture(entry(path)).svg()


def test_a_folder_with_other_files_is_left_alone(tmp_path):
    kept = tmp_path / "kept.txt"
    kept.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="files of another kind; allowed: a new folder"):
        docs_site.build(tmp_path)
    assert kept.read_text(encoding="utf-8") == "mine"


def test_a_file_is_never_taken_for_the_folder_of_a_site_nor_for_one_above_it(tmp_path):
    (tmp_path / "letter.txt").write_text("Dear all")
    for folder in (tmp_path / "letter.txt", tmp_path / "letter.txt" / "site"):
        with pytest.raises(InputError, match=r"letter\.txt: found a file; allowed: a new folder"):
            docs_site.build(folder)
    assert (tmp_path / "letter.txt").read_text() == "Dear all"


def test_the_command_explains_itself_and_takes_neither_an_option_nor_a_second_folder_for_one(
    tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("edgestore.docs_site.__main__.build", lambda folder: folder)
    with pytest.raises(SystemExit, match="0"):
        main(["--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("usage: python -m edgestore.docs_site [-h] [FOLDER]")
    assert "a new one, an empty one, or one with an earlier site, which is replaced" in told
    for words in (["--helpp"], ["one", "two"]):
        with pytest.raises(SystemExit, match="2"):
            main(words)
    assert not list(tmp_path.iterdir())
    main(["one"])
    assert capsys.readouterr().out == "Open it in a browser: one\n"


def test_without_sphinx_the_command_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setattr(docs_site, "BUILDERS", ("no_such_builder",))
    with pytest.raises(InputError, match=r"pip install 'edgestore\[docs\]'"):
        docs_site.build(tmp_path / "site")
    assert not (tmp_path / "site").exists()


def test_where_no_site_is_built_the_page_says_how(tmp_path, monkeypatch):
    monkeypatch.setattr(docs_site, "built_folder", lambda: tmp_path / "none")
    docs_site.put_pages(tmp_path / "served")
    page = (tmp_path / "served" / "index.html").read_text(encoding="utf-8")
    assert "pip install 'edgestore[docs]'\npython -m edgestore.docs_site" in page


@pytest.fixture
def built(tmp_path, monkeypatch):
    folder = tmp_path / "built"
    (folder / "worked_out").mkdir(parents=True)
    for name in ("index.html", "worked_out/life.html"):
        (folder / name).write_text(f"<body>{docs_site.TEXT}{name}</main>", encoding="utf-8")
    monkeypatch.setattr(docs_site, "built_folder", lambda: folder)
    return folder


@pytest.mark.parametrize("built_from", [None, "another state"])
def test_each_page_of_a_site_that_is_out_of_date_says_how_to_build_it_anew(tmp_path, built, built_from):
    if built_from:
        (built / docs_site.BUILT_FROM).write_text(built_from, encoding="utf-8")
    docs_site.put_pages(tmp_path / "served")
    for name in ("index.html", "worked_out/life.html"):
        page = (tmp_path / "served" / name).read_text(encoding="utf-8")
        assert "built from another state" in page
        assert "<code>python -m edgestore.docs_site</code>" in page


def test_a_site_that_was_built_from_what_is_there_says_nothing(tmp_path, built):
    (built / docs_site.BUILT_FROM).write_text(docs_site.sources_digest(), encoding="utf-8")
    docs_site.put_pages(tmp_path / "served")
    assert (tmp_path / "served" / "index.html").read_bytes() == (built / "index.html").read_bytes()


def test_a_page_of_docs_that_changes_makes_a_site_out_of_date(tmp_path, monkeypatch):
    (tmp_path / "docs").mkdir()
    monkeypatch.setattr(docs_site, "bundled", lambda name: tmp_path / name)
    (tmp_path / "docs" / "terms.md").write_text("Terms", encoding="utf-8")
    before = docs_site.sources_digest()
    assert docs_site.sources_digest() == before
    (tmp_path / "docs" / "terms.md").write_text("Other terms", encoding="utf-8")
    assert docs_site.sources_digest() != before


def test_a_site_that_is_built_is_served_as_it_is(tmp_path, monkeypatch):
    built = tmp_path / "built"
    (built / "worked_out").mkdir(parents=True)
    for name in ("index.html", "worked_out/life.html"):
        (built / name).write_text(name, encoding="utf-8")
    monkeypatch.setattr(docs_site, "built_folder", lambda: built)
    docs_site.put_pages(tmp_path / "served")
    assert (tmp_path / "served" / "worked_out" / "life.html").read_text(encoding="utf-8") == "worked_out/life.html"
