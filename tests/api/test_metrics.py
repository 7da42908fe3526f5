"""/metrics: only where it is turned on, closed lists of labels, right over several processes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from flask import Flask
from prometheus_client.parser import text_string_to_metric_families

from service.api import create_app
from service.api.document import openapi
from service.api.environment import Environment
from service.api.finished import route_of
from tests.api.good import good
from tests.api.running import ROOT, Running, ask, running
from tests.requests_at_random import to_json

ON = Environment(metrics=True)
Counts = dict[tuple[str, tuple[tuple[str, str], ...]], float]


def counts(text: str) -> Counts:
    """Each sample by its name and labels."""
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def requests_of(found: Counts, route: str, method: str = "GET", status: str = "2xx") -> float:
    labels = (("method", method), ("route", route), ("status", status))
    return found.get(("litrewise_requests_total", labels), 0)


def paths(app: Flask) -> set[str]:
    return {route_of(rule.rule) for rule in app.url_map.iter_rules()}


def test_without_the_setting_there_is_no_such_address(client, app: Flask):
    assert client.get("/metrics").status_code == 404
    assert paths(app) == set(openapi()["paths"])


def test_with_the_setting_it_is_the_only_address_besides_the_documented_ones():
    app = create_app(ON)
    assert paths(app) - set(openapi()["paths"]) == {"/metrics"}
    assert "/metrics" not in app.test_client().get("/openapi.json").json["paths"]


def test_without_the_setting_the_library_that_counts_is_not_loaded():
    code = "import sys, service.api as a; a.create_app(); print('prometheus_client' in sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert (done.stdout, done.stderr) == ("False\n", "")


def test_requests_are_counted_by_rule_method_and_class_of_status():
    client = create_app(ON).test_client()
    for path in (
        "/livez",
        "/livez",
        "/livez?a=1",
        "/problems/not-json",
        "/problems/not-found",
        "/nope",
        "/x",
    ):
        client.get(path)
    client.open("/livez", method="BREW")
    client.open("/livez", method="SPILL")
    client.post("/v1/costings", data=to_json(good(0)), content_type="application/json")
    client.post("/v1/costings", data=b"{}", content_type="application/json")
    answer = client.get("/metrics")
    assert answer.headers["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    found = counts(answer.text)
    assert requests_of(found, "/livez") == 2
    assert requests_of(found, "/livez", status="4xx") == 1
    assert requests_of(found, "/problems/{name}") == 2
    assert requests_of(found, "none", status="4xx") == 2
    assert requests_of(found, "none", "other", "4xx") == 2
    assert requests_of(found, "/v1/costings", "POST") == 1
    assert requests_of(found, "/v1/costings", "POST", "4xx") == 1
    assert found["litrewise_costings_total", ()] == 1
    assert found["litrewise_request_seconds_count", (("route", "/livez"),)] == 3
    assert found["litrewise_request_seconds_bucket", (("le", "+Inf"), ("route", "/livez"))] == 3
    assert 0 < found["litrewise_request_seconds_sum", (("route", "/livez"),)] < 60


def test_each_application_counts_for_itself():
    first, second = create_app(ON).test_client(), create_app(ON).test_client()
    first.get("/livez")
    assert requests_of(counts(second.get("/metrics").text), "/livez") == 0


def test_it_is_answered_as_a_scraper_asks():
    client = create_app(ON).test_client()
    wanted = "application/openmetrics-text;version=1.0.0;q=0.5,text/plain;version=0.0.4;q=0.4,*/*;q=0.1"
    assert client.get("/metrics", headers={"Accept": wanted}).status_code == 200
    assert client.get("/metrics", headers={"Accept": "application/json"}).status_code == 406


def test_several_processes_count_as_one_and_clear_up(tmp_path: Path):
    with running(tmp_path, 3, LITREWISE_METRICS="1") as service:
        for _ in range(60):
            assert ask(service.port, "GET", "/livez")[0] == 200
        scraped = {requests_of(counts(scrape(service.port)), "/livez") for _ in range(20)}
        assert scraped == {60}
        files = list((tmp_path / "tmp").glob("litrewise-metrics-*/counter_*.db"))
        assert len(files) == 3, "each worker has answered"

        # A worker that ends or dies takes nothing along, and the one in its place goes on counting.
        for how in (signal.SIGTERM, signal.SIGKILL):
            replaced(service, how)
        for _ in range(20):
            assert ask(service.port, "GET", "/livez")[0] == 200
        assert requests_of(counts(scrape(service.port)), "/livez") == 80

        service.process.send_signal(signal.SIGTERM)
        assert service.process.wait(timeout=20) == 0
        assert not list((tmp_path / "tmp").iterdir())


def replaced(service: Running, how: signal.Signals) -> None:
    """End one worker and wait for the one in its place."""
    one = service.workers()[0]
    os.kill(one, how)
    for _ in range(200):
        now = service.workers()
        if len(now) == 3 and one not in now:
            return
        time.sleep(0.05)
    raise AssertionError("no other worker came")


def scrape(port: int) -> str:
    status, _, body = ask(port, "GET", "/metrics", headers={})
    assert status == 200
    return body.decode()
