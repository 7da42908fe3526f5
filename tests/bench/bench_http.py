"""POST /v1/costings of a modelled setup of 25 lines against two floors that get the same body.

Run: python -m tests.bench.bench_http [--smoke]. Needs `wrk`. Each application runs
under gunicorn, gthread, two workers of four threads, on loopback; rounds go around
the applications so that a slow moment of the machine hits them all.
"""

from __future__ import annotations

import argparse
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import orjson

from tests.bench.body import full_body

APPS = {
    "a: parse and echo": "tests.bench.floors:echo()",
    "b: marshmallow load": "tests.bench.floors:loaded()",
    "costings": "",
}
SCRIPT = """wrk.method = "POST"
wrk.headers["Content-Type"] = "application/json"
wrk.body = io.open(os.getenv("BODY")):read("*a")
"""
UNITS = {"us": 1e-3, "ms": 1.0, "s": 1e3}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def start(app: str, port: int) -> subprocess.Popen:
    if not app:
        # The service itself, as anybody starts it; its settings are those of the floors.
        served = [sys.executable, "-m", "service.cli", "serve", "--port", str(port), "--workers", "2"]
        return subprocess.Popen(served)
    command = [sys.executable, "-m", "gunicorn", "--bind", f"127.0.0.1:{port}", "--workers", "2"]
    command += ["--worker-class", "gthread", "--threads", "4", "--reuse-port", "--no-control-socket"]
    return subprocess.Popen([*command, "--log-level", "error", app])


def post(port: int, raw: bytes) -> tuple[int, bytes]:
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/v1/costings", raw, {"Content-Type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=10) as answer:
        return answer.status, answer.read()


def ready(port: int, raw: bytes) -> None:
    for _ in range(100):
        try:
            if post(port, raw)[0] == 200:
                return
        except OSError:
            time.sleep(0.1)
    raise SystemExit(f"nothing answers on port {port}")


def load(port: int, seconds: int, folder: Path) -> tuple[float, float]:
    """(requests a second, 99th percentile in ms) of one round."""
    command = ["wrk", "-t1", "-c8", f"-d{seconds}s", "--latency", "-s", str(folder / "post.lua")]
    shown = subprocess.run(
        [*command, f"http://127.0.0.1:{port}/v1/costings"],
        capture_output=True, text=True, check=True,
        env={"BODY": str(folder / "body.json"), "PATH": "/usr/bin:/bin"},
    ).stdout  # fmt: skip
    if "Non-2xx" in shown or "Socket errors" in shown:
        raise SystemExit(shown)
    rate = re.search(r"Requests/sec:\s+([0-9.]+)", shown)
    slow = re.search(r"99%\s+([0-9.]+)(us|ms|s)", shown)
    assert rate and slow, shown
    return float(rate[1]), float(slow[1]) * UNITS[slow[2]]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    raw = orjson.dumps(full_body())
    rounds, seconds = (1, 1) if smoke else (5, 5)
    running = {name: (start(app, port := free_port()), port) for name, app in APPS.items()}
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in APPS}
    try:
        with tempfile.TemporaryDirectory() as where:
            folder = Path(where)
            (folder / "post.lua").write_text(SCRIPT)
            (folder / "body.json").write_bytes(raw)
            for _, port in running.values():
                ready(port, raw)
                load(port, 1, folder)
            for _ in range(rounds):
                for name, (_, port) in running.items():
                    found[name].append(load(port, seconds, folder))
    finally:
        for process, _ in running.values():
            process.terminate()
        for process, _ in running.values():
            process.wait(20)
    rate = {name: statistics.median(r for r, _ in rows) for name, rows in found.items()}
    slow = {name: statistics.median(p for _, p in rows) for name, rows in found.items()}
    print(f"body of {len(raw):,} bytes, median of {rounds} rounds of {seconds} s")
    for name in APPS:
        spread = ", ".join(f"{r:,.0f}" for r, _ in found[name])
        print(f"{name:<20} {rate[name]:>7,.0f}/s  p99 {slow[name]:.1f} ms  ({spread})")
    echo, loaded, ours = APPS
    print(f"rate: {rate[ours] / rate[echo]:.2f} of a, {rate[ours] / rate[loaded]:.2f} of b")
    print(f"p99: {slow[ours] / slow[loaded]:.2f} of b")


if __name__ == "__main__":
    main()
