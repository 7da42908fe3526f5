"""Three accounts that do as they please with each other's ids: none ever sees what is another's."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from tests.kept.route_table import BY_NAME, ROWS, World, stocked
from tests.kept.watched import Watched, watched

KINDS = ("product", "electricity", "water", "routine", "setup", "reading", "quote", "link", "other_key")
SEARCHED = ("products", "tariffs", "routines", "setups", "quotes")
_NUMBERS = count(1)
# What opens a quote to whoever has it is no account's secret kept from another.
ASKED = [row for row in ROWS if row.rule.startswith("/v1/") and row.right != "open"]


class Accounts(RuleBasedStateMachine):
    """Every request of an account may name things of any; no answer holds a mark of another."""

    shop: Watched

    @initialize()
    def open_accounts(self) -> None:
        number = next(_NUMBERS)
        self.worlds = [stocked(self.shop, f"zq{letter}{number}mark") for letter in "abc"]
        self.words = [{kind: [getattr(world, kind)] for kind in KINDS} for world in self.worlds]

    @rule(
        who=st.integers(0, 2), row=st.sampled_from(ASKED),
        whose=st.fixed_dictionaries({kind: st.integers(0, 2) for kind in KINDS}),
        limit=st.none() | st.integers(1, 2), newest=st.booleans(), seen=st.sampled_from(["*", '"1"', '"2"']),
    )  # fmt: skip
    def ask(
        self, who: int, row: Any, whose: dict[str, int], limit: int | None, newest: bool, seen: str
    ) -> None:
        """Any request, with ids of any account in every place that takes one."""
        world = World(self.shop, self.worlds[who].key, self.worlds[who].mark)
        for kind, owner in whose.items():
            setattr(world, kind, self.words[owner][kind][-1 if newest else 0])
        query = world.query(row) or (f"limit={limit}" if limit and row.rule.count("/") == 2 else "")
        query = query if row.method == "GET" else ""
        headers = world.headers(row)
        if "If_Match" in headers:
            headers["If_Match"] = seen
        path = world.path(row)
        answer = self.told(who, row.method, f"{path}?{query}" if query else path, world.body(row), **headers)
        if answer.status_code == 201 and "Location" in answer.headers:
            kind = {"products": "product", "tariffs": "electricity", "routines": "routine", "setups": "setup",
                    "quotes": "quote", "readings": "reading"}[row.rule.split("/")[2]]  # fmt: skip
            self.words[who][kind].append(answer.json["id"])

    @rule(who=st.integers(0, 2), whose=st.integers(0, 2), path=st.sampled_from(SEARCHED))
    def search(self, who: int, whose: int, path: str) -> None:
        """What is another's is not found by its words."""
        found = self.told(who, "GET", f"/v1/{path}?q={self.worlds[whose].mark}").json["items"]
        assert who == whose or found == []

    @rule(who=st.integers(0, 2), whose=st.integers(0, 2), name=st.sampled_from(["products", "quotes"]))
    def follow(self, who: int, whose: int, name: str) -> None:
        """A cursor leads on in the list of its own account only."""
        self.worlds[whose].good(BY_NAME[f"POST /v1/{name}"])
        leads = self.worlds[whose].call("GET", f"/v1/{name}?limit=1").json["next"]
        if leads:
            answer = self.told(who, "GET", f"/v1/{name}?cursor={leads}")
            assert answer.status_code == (200 if who == whose else 400)

    def told(self, who: int, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """The answer to an account, without a mark of another in it."""
        answer = self.worlds[who].call(method, path, body, **headers)
        text = answer.get_data(as_text=True)
        assert answer.status_code < 500, text
        for place, world in enumerate(self.worlds):
            assert place == who or world.mark not in text, (method, path, text)
        return answer


@pytest.fixture
def shop(migrated_file: Path, tmp_path: Path) -> Iterator[Watched]:
    path = tmp_path / "kept.db"
    shutil.copyfile(migrated_file, path)
    found = watched(f"sqlite:///{path}")
    yield found
    found.close()


def test_no_answer_ever_holds_another_account_s_words(shop: Watched):
    machine = type("Machine", (Accounts,), {"shop": shop})
    few = settings(
        max_examples=30, stateful_step_count=20, deadline=None,
        # Each step is a request, so a fault is told as it was found and not made small for minutes.
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )  # fmt: skip
    run_state_machine_as_test(machine, settings=few)
