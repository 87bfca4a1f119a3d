"""Random plants for the tests: invented windings with everything that people write into a history."""

from __future__ import annotations

import csv
import datetime
import io
import random

AS_OF = "2026-11-25"
HEADER = ["winding", "tested_on", "connection", "test_volts", "r_30s", "r_60s", "r_10min", "winding_temp_c", "air_temp_c", "rh_percent",
          "full_scale", "lead_check", "event", "note"]
REGISTER = ["winding", "site", "area", "rated_volts", "rated_kw", "construction", "insulation", "year_made", "interval_days", "group",
            "minimum_mohm", "criticality"]


def table(header: list[str], rows: list[list[object]]) -> bytes:
    """Rows as the bytes of a CSV file."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(["" if cell is None else cell for cell in row] for row in rows)
    return text.getvalue().encode()


def cell(mohm: float, scale: float) -> str:
    """A reading as a tester shows it: over the end of its scale, or with three digits."""
    return f">{scale:g}" if mohm > scale else f"{mohm:.3g}"


def make(windings: int, seed: int) -> tuple[bytes, bytes]:
    """A history and a register with so many windings; some have phases, falls, work, wrong rows, repeats and contradictions."""
    draw = random.Random(seed)
    rows: list[list[object]] = []
    register: list[list[object]] = []
    for number in range(windings):
        name = f"M-{number:04d}"
        volts = draw.choice([400, 690, 3300, 6600, 11000])
        built = draw.choice(["random-wound", "form-wound"]) if volts < 1000 else "form-wound"
        if draw.random() < 0.93:
            register.append([name, "Oskerly", draw.choice(["north", "south", ""]), volts, draw.choice([15, 90, 400, 2500]), built,
                             draw.choice(["thermosetting", "thermoplastic", "unknown", ""]), draw.choice([1968, 1994, 2011, None]),
                             draw.choice([91, 182, 365, None]), draw.choice(["pumps", "fans", "mills", ""]),
                             draw.choice([None, None, None, 20]), draw.choice(["A", "B", "C", ""])])
        connections = ["U-earth", "V-earth", "W-earth"] if draw.random() < 0.1 else ["all-earth"]
        level, slope = 10 ** draw.uniform(0.8, 4.0), draw.gauss(-0.05, 0.12)
        scale = draw.choice([1000.0, 5000.0, 200000.0])
        years = sorted(draw.uniform(0, 7.5) for _ in range(draw.randint(1, 16)))
        for connection in connections:
            for year in years:
                day = datetime.date(2019, 4, 1) + datetime.timedelta(days=round(365.25 * year))
                celsius = draw.uniform(8, 38)
                mohm = level * 10 ** (slope * year + draw.gauss(0, 0.08) - 0.03 * (celsius - 40))
                event = draw.choice(["cleaned", "rewound", "dried"]) if draw.random() < 0.01 else ""
                row: list[object] = [name, day.isoformat(), connection, draw.choice([500, 1000, 2500]), cell(mohm * 0.8, scale),
                                     cell(mohm, scale), cell(mohm * draw.uniform(1.1, 4), scale) if draw.random() < 0.3 else "",
                                     f"{celsius:.1f}" if draw.random() < 0.95 else "", f"{celsius - draw.uniform(0, 5):.1f}",
                                     draw.choice(["", 45, 60, 85]), scale, draw.choice(["ok", "ok", "", "failed"] if draw.random() < 0.02 else ["ok"]),
                                     event, draw.choice(["", "", "", "rain overnight", 'seen "wet", wiped']) if draw.random() < 0.2 else ""]
                rows.append(row)
                chance = draw.random()
                if chance < 0.01:
                    rows.append(list(row))
                elif chance < 0.02:
                    rows.append([*row[:5], draw.choice(["-4", "wet", "0"]), *row[6:]])
                elif chance < 0.025:
                    rows.append([row[0], draw.choice(["2026-02-30", "soon", ""]), *row[2:5], "0.3", *row[6:]])
    draw.shuffle(rows)
    return table(HEADER, rows), table(REGISTER, register)
