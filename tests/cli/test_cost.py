"""`litrewise cost`: answers, faults and exit codes."""

from __future__ import annotations

import json
import subprocess
from datetime import date
from pathlib import Path

import pytest

from service import __version__
from service.cli.report import report
from service.quoting import cost
from service.schemas import check
from service.schemas.body import read_json
from tests.cli.conftest import COMMAND, ENVIRONMENT


@pytest.fixture(scope="module")
def answer(demo_file: Path) -> dict:
    document = read_json(demo_file.read_bytes())
    return cost(document, date(2026, 11, 25), check(document))


def changed(demo_file: Path, change) -> str:
    document = json.loads(demo_file.read_text())
    change(document)
    return json.dumps(document)


def test_json_is_the_answer_of_the_engine(litrewise, demo_file: Path, answer: dict):
    done = litrewise("cost", str(demo_file), "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout) == json.loads(json.dumps(answer))


def test_the_table_is_the_report_at_80_columns(litrewise, demo_file: Path, answer: dict):
    done = litrewise("cost", str(demo_file))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == list(report(answer, 80))


def test_a_wider_terminal_gets_a_wider_table(litrewise, demo_file: Path, answer: dict):
    done = litrewise("cost", str(demo_file), COLUMNS="150")
    assert done.stdout.splitlines() == list(report(answer, 150))


def test_the_demo_fits_80_columns_without_cutting_a_name(answer: dict):
    printed = list(report(answer, 80))
    assert max(map(len, printed)) <= 80
    assert not [text for text in printed if "..." in text]


def test_a_dash_reads_standard_input(litrewise, demo_file: Path):
    piped = litrewise("cost", "-", text=demo_file.read_text())
    assert piped.stdout == litrewise("cost", str(demo_file)).stdout


def test_detail_on_the_command_line_wins_over_the_file(litrewise, demo_file: Path):
    totals = json.loads(litrewise("cost", str(demo_file), "--json", "--detail", "totals").stdout)
    workings = json.loads(litrewise("cost", str(demo_file), "--json", "--detail", "workings").stdout)
    assert "lines" not in totals["setups"][0]
    assert all(line["workings"] for line in workings["setups"][0]["lines"])
    assert totals["total"] == workings["total"]


def test_workings_are_printed_below_the_table(litrewise, demo_file: Path):
    assert "How the lines were worked out" in litrewise("cost", str(demo_file), "--detail", "workings").stdout


def test_every_fault_stands_on_a_line_of_its_own_with_its_place(litrewise, demo_file: Path):
    def spoil(document: dict) -> None:
        document["setups"][0]["lines"][0]["price"]["amount"] = 61.5
        document["setups"][1]["lines"][0]["pack"]["unit"] = "oz"
        document["colour"] = "blue"

    done = litrewise("cost", "-", text=changed(demo_file, spoil))
    assert (done.returncode, done.stdout) == (2, "")
    assert sorted(text.split(": ")[0] for text in done.stderr.splitlines()) == [
        "#/colour",
        "#/setups/0/lines/0/price/amount",
        "#/setups/1/lines/0/pack/unit",
    ]


def test_a_name_from_the_file_cannot_steer_the_terminal(litrewise, demo_file: Path):
    def spoil(document: dict) -> None:
        document["setups"][0]["\x1b[2J\nfield"] = 1

    done = litrewise("cost", "-", text=changed(demo_file, spoil))
    assert done.returncode == 2
    assert "\x1b" not in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("text", ["", "{", "[1,", '{"a": 1, "a": 2}', "NaN", "[" * 100_000])
def test_what_is_not_json_is_a_fault_of_the_file(litrewise, text: str):
    done = litrewise("cost", "-", text=text)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("#")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("text", ["[]", "null", "1", '"text"'])
def test_json_that_is_no_request_is_a_fault_of_the_file(litrewise, text: str):
    done = litrewise("cost", "-", "--detail", "lines", text=text)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("#: ")


def test_a_file_that_is_not_there_is_no_fault_in_a_file(litrewise, tmp_path: Path):
    missing = tmp_path / "none.json"
    done = litrewise("cost", str(missing))
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == f"litrewise: {missing} cannot be read (No such file or directory)\n"


@pytest.mark.parametrize(
    "arguments", [(), ("cost",), ("cost", "a", "b"), ("price", "a"), ("serve", "--port", "0")]
)
def test_a_wrong_command_line_ends_with_1(litrewise, arguments: tuple[str, ...]):
    done = litrewise(*arguments)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("usage: litrewise")


def test_a_reader_that_goes_away_is_no_noise(demo_file: Path):
    with subprocess.Popen(
        [*COMMAND, "cost", str(demo_file), "--json", "--detail", "workings"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=ENVIRONMENT,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == 1


def test_a_full_disk_is_said(demo_file: Path):
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [*COMMAND, "cost", str(demo_file)], stdout=full, stderr=subprocess.PIPE, env=ENVIRONMENT
        )
    assert (done.returncode, done.stderr) == (1, b"litrewise: [Errno 28] No space left on device\n")


def test_a_terminal_without_the_letters_still_gets_the_table(litrewise, demo_file: Path):
    def rename(document: dict) -> None:
        document["setups"][0]["name"] = "Becken für Zoë \u6c34"

    done = litrewise("cost", "-", text=changed(demo_file, rename), PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert "Becken f?r Zo? ? (hall)" in done.stdout.splitlines()


def test_the_version_is_said(litrewise):
    assert litrewise("--version").stdout == f"litrewise {__version__}\n"


def test_costing_imports_neither_flask_nor_marshmallow(litrewise, demo_file: Path):
    done = litrewise("cost", str(demo_file), PYTHONPROFILEIMPORTTIME="1")
    names = {text.split("|")[-1].strip() for text in done.stderr.splitlines()}
    assert "service.quoting" in names
    assert not names & {"flask", "marshmallow", "gunicorn", "werkzeug"}
