"""Speed and memory of the scatter, from a thousand samples to ten million, each run in a process of its own.

Times are of the processor, so that a busy machine moves them less. The example files get an invented ± here; the blank flange
is that of the tests.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"
MEMORY_ASKED = 1000  # MB at ten million samples

_PROGRAM = """
import resource, sys, time
from anchorsize.studies.scatter import scatter
text, samples = sys.stdin.read(), int(sys.argv[1])
scatter(text, "benchmark", 10)  # what is loaded and built once
start = time.process_time()
scatter(text, "benchmark", samples)
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000)
"""


def terrace() -> str:
    """Return the terrace elbow with ± on flow, pressures, mass and bore: five cases, a linear bolt group."""
    text = (EXAMPLES / "terrace_elbow.yaml").read_text()
    for plain, uncertain in (
        ("flow_in: 18 L/s, pressure: 45 kPa}", "flow_in: 18 L/s ± 5 %, pressure: 45 kPa ± 10 %}"),
        ("pressure: 180 kPa}", "pressure: 180 kPa ± 10 %}"),
        ("mass: 9.4 kg", "mass: 9.4 kg ± 5 %"),
        ("bore: 62 mm", "bore: {value: 62 mm, plus_minus: 0.4 mm, shape: uniform}"),
    ):
        assert plain in text
        text = text.replace(plain, uncertain)
    return text


def wye() -> str:
    """Return the wye with ± on torque, nut factor, gasket modulus and test pressure: six cases, the joint solved in contact."""
    text = (EXAMPLES / "wye_missing_bolt.yaml").read_text()
    for plain, uncertain in (
        ("torque: 210 N*m", "torque: 210 N*m ± 15 %"),
        ("nut_factor: 0.2", "nut_factor: 0.2 ± 0.03"),
        ("modulus: 400 MPa", "modulus: 400 MPa ± 20 %"),
        ("pressure: 9 bar", "pressure: 9 bar ± 10 %"),
    ):
        assert plain in text
        text = text.replace(plain, uncertain)
    return text


def flange() -> str:
    """Return a blank flange with a ± on its pressure: one case, two checks and their interaction."""
    from tests.cases import BLANK_FLANGE

    return BLANK_FLANGE.replace("pressure: 10 bar", "pressure: 10 bar ± 20 %")


def measured(text: str, samples: int) -> tuple[float, float]:
    """Return processor time [s] and greatest memory of the process [MB] of one scatter."""
    command = [sys.executable, "-c", _PROGRAM, str(samples)]
    done = subprocess.run(command, input=text, capture_output=True, text=True, check=True)
    seconds, megabytes = map(float, done.stdout.split())
    return seconds, megabytes


def run() -> list[tuple[str, float, str]]:
    """Return the rows (what, figure, remark)."""
    rows = []
    times = {}
    for power in range(3, 8):
        seconds, megabytes = measured(flange(), 10**power)
        times[power] = seconds
        asked = f"at most {MEMORY_ASKED}" if power == 7 else ""
        each = f"1 case, {seconds / 10**power * 1e6:.3g} µs a sample"
        rows.append((f"blank flange, 10^{power} samples [s]", seconds, each))
        rows.append((f"blank flange, 10^{power} samples, memory [MB]", megabytes, asked))
    rows.append(("blank flange, time a sample, 10^7 over 10^5", times[7] / times[5] / 100, "at most 1.5; 1 is linear"))
    for name, text, cases in (("terrace elbow", terrace(), "5 cases"), ("tightened wye", wye(), "6 cases, contact")):
        seconds, megabytes = measured(text, 10**6)
        rows.append((f"{name}, 10^6 samples [s]", seconds, cases))
        rows.append((f"{name}, 10^6 samples, memory [MB]", megabytes, ""))
    return rows


if __name__ == "__main__":
    for what, figure, remark in run():
        print(f"{what:50s} {figure:10.4g}   {remark}")
