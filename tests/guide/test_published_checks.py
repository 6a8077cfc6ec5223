"""The guide's page of published values names every test that checks one, with its source."""

import re

from tests.published_checks import PAGE, Check, Compared, Recorder, _short, page_text, published_checks

_RENEW = "renew the page: python -m tests.published_checks"


def test_page_names_every_published_test_with_its_source() -> None:
    text = PAGE.read_text(encoding="utf-8")
    checks = published_checks()
    assert f": {len(checks)} tests compare solarsim" in text, _RENEW
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|", text, re.MULTILINE)
    listed = [row for row in rows if row[0] not in ("check", "---") and row[0].strip()]
    assert listed == [(check.words, check.source.replace("|", "/")) for check in checks], _RENEW


def test_every_published_test_names_a_source() -> None:
    assert not [check.name for check in published_checks() if len(check.source) < 10]


def test_comparisons_of_a_test_are_rows_and_the_rest_is_counted_out() -> None:
    check = Check("published/test_x.py", "test_a_battery_s_root", "A handbook, table 3.")
    compared = [Compared(check.file, check.name, f"{number} ± 0.5", str(number)) for number in range(5)]
    text = page_text([check], compared, "2026-01-01")
    assert "| a battery's root | A handbook, table 3. | 0 ± 0.5 | 0 |" in text
    assert "|  |  | 2 ± 0.5 | 2 |" in text
    assert "3 ± 0.5" not in text
    assert "| a battery's root | A handbook, table 3. | | |" in page_text([check], [], "2026-01-01")


def test_values_are_short_and_without_digits_that_nobody_prints() -> None:
    assert _short("np.float64(0.15968400123)") == "0.159684"
    assert _short("'a|b'") == "'a/b'"
    assert len(_short("[" + "1, " * 200)) == 110


def test_only_equalities_are_kept(request: object) -> None:
    recorder = Recorder()
    item = request.node  # type: ignore[attr-defined]
    recorder.pytest_assertion_pass(item, "4.25 == 4.2516 ± 5.0e-05\n  where 4.25 = f()")
    recorder.pytest_assertion_pass(item, "3 < 4")
    assert [(each.expected, each.got) for each in recorder.compared] == [("4.2516 ± 5.0e-05", "4.25")]
