"""Whatever many callers do at once, it is as if they had done it one after the other.

The long runs are `python -m tests.served.soak`.
"""

from __future__ import annotations

from tests.served.races import change_at_once, issue_over_a_bad_line, numbers_kept, same_request_at_once
from tests.served.serving import Served

TRIES, KEYS, QUOTES = 300, 10, 300


def test_no_change_is_lost(service: Served):
    done = change_at_once(service, TRIES)
    assert set(done.answers) <= {200, 412}
    assert done.answers[412] > 0, "nobody was in anybody's way, so this proves nothing"
    assert done.version - 1 == done.counted == done.answers[200]


def test_fifty_callers_with_one_key_have_one_effect_and_one_answer(service: Served):
    found = same_request_at_once(service, KEYS)
    assert [len(answers) for answers in found] == [1] * KEYS
    assert {status for answers in found for status, _ in answers} == {201}
    kept = service.client().once("GET", "/v1/products?limit=100&q=Salt%20mix").json["items"]
    assert len(kept) == KEYS


def test_quotes_issued_over_a_line_that_loses_answers_are_neither_lost_nor_doubled(service: Served):
    done = issue_over_a_bad_line(service, QUOTES)
    assert done.lost > QUOTES * 0.2
    assert done.sent - done.lost == QUOTES
    assert len({id_ for id_, _ in done.told}) == QUOTES
    assert sorted(number for _, number in done.told) == list(range(1, QUOTES + 1))
    assert sorted(numbers_kept(service)) == list(range(1, QUOTES + 1))
