"""The parts of the comparison. Each prints one table."""

import json
import shutil

from measure import Figure, cpu_seconds, in_turn, peak_mib, run, seconds, table
from works import AS_OF, TESTS, threads_here

LEAST_ROWS = 100_000


def speed(works, options):
    """Reading, judging, and the usual way, on one fleet."""
    windings = options.rows // TESTS
    with works.fleet(windings) as fleet, works.fleet(windings, TESTS, "--order", "round") as in_rounds:
        calls = {
            "polars reads the file": fleet.read_by_polars,
            "assess": fleet.assessed,
            "assess, rows in the order of rounds": in_rounds.assessed,
            "assess, one thread": lambda: fleet.assessed(threads=1),
            "assess, two threads": lambda: fleet.assessed(threads=2),
        }
        if works.python:
            calls["Python"] = lambda: fleet.judged_in_python(options.sample)
        runs = in_turn(calls, options.rounds)
    assert fleet.digest == in_rounds.digest, "the order of the rows changes the result"
    python = runs.pop("Python", None)
    read, ours = seconds(runs["polars reads the file"]), seconds(runs["assess"])
    print(f"{fleet.rows} rows, {fleet.windings} windings, {fleet.bytes / 2**20:.0f} MiB, {threads_here()} processors\n")
    read_cpu, ours_cpu = cpu_seconds(runs["polars reads the file"]), cpu_seconds(runs["assess"])
    rows = []
    for name, done in runs.items():
        memory = peak_mib(done)
        share = f"{memory.median * 2**20 / fleet.bytes:.2f}"
        rows.append([name, seconds(done).words("s"), cpu_seconds(done).words("s"), memory.words("MiB"), share])
    one, two = seconds(runs["assess, one thread"]), seconds(runs["assess, two threads"])
    ratios = [
        ["assess over the bare read", ours.over(read).words(), ours_cpu.over(read_cpu).words()],
        ["one thread over two", one.over(two).words(), ""],
    ]
    if python:
        whole, whole_cpu = (Figure(one[name] for one in python) for name in ("whole", "whole_cpu"))
        rows.append([f"Python, from {options.sample} windings", whole.words("s"), whole_cpu.words("s"), "", ""])
        ratios.append(["Python over assess", whole.over(ours).words(), whole_cpu.over(ours_cpu).words()])
    table(["what", "time", "processor time", "peak memory", "over the file's size"], rows)
    table(["ratio", "by time", "by processor time"], ratios)


def scaling(works, options):
    """Four times the rows, again and again, from 100,000 or more up to the most."""
    sizes = [options.most_rows]
    while sizes[0] // 4 >= LEAST_ROWS:
        sizes.insert(0, sizes[0] // 4)
    fleets = [works.fleet(rows // TESTS) for rows in sizes]
    growth("quarterly tests, 40 a winding", fleets, options.rounds)


def long(works, options):
    """Long series: hourly readings in few windings."""
    sizes = [options.long_tests // 16, options.long_tests // 4, options.long_tests]
    fleets = [works.fleet(options.long_windings, tests, "--every", "hour") for tests in sizes]
    growth(f"hourly readings in {options.long_windings} windings", fleets, options.rounds)


def growth(what, fleets, rounds):
    """How time grows with the rows, every size in every round."""
    runs = in_turn({f"{fleet.rows} rows, {what}": fleet.assessed for fleet in fleets}, rounds)
    rows, before = [], None
    for fleet, done in zip(fleets, runs.values(), strict=True):
        time = seconds(done)
        million = Figure(value / fleet.rows * 1e6 for value in time.values)
        rows.append([f"{fleet.rows}", time.words("s"), time.over(before).words() if before else "",
                     million.words("s"), f"{peak_mib(done).median * 2**20 / fleet.bytes:.2f}"])
        before = time
        fleet.remove()
    table([f"rows: {what}", "time", "over a quarter of the rows", "a million rows", "peak memory over the file's size"], rows)


def charts(works, options):
    """Trend charts, 1200 × 800 PNG, against matplotlib."""
    folder = works.folder / "charts"
    with works.fleet(options.charts) as fleet:
        def ours(threads):
            command = [works.example("draw-charts"), fleet.history, fleet.register, fleet.windings, folder / "groundwall"]
            return json.loads(run(command, RAYON_NUM_THREADS=str(threads)).out)

        def theirs(processes):
            number = min(options.charts, 20 * processes)
            command = ["--charts", number, "--processes", processes, "--out", folder / "matplotlib"]
            return json.loads(works.in_python("draw_charts.py", fleet.history, fleet.register, *command).out)

        calls = {"groundwall, one thread": lambda: ours(1), "groundwall, two threads": lambda: ours(2)}
        if works.python:
            calls |= {"matplotlib, one process": lambda: theirs(1), "matplotlib, two processes": lambda: theirs(2)}
        runs = in_turn(calls, options.rounds)
    each = {name: Figure(1e3 * one["seconds"] / one["charts"] for one in done) for name, done in runs.items()}
    size = {name: done[0]["bytes"] / done[0]["charts"] / 1024 for name, done in runs.items()}
    quickest = each["groundwall, two threads"]
    table(["trend charts, 1200 × 800 PNG", "a chart", "over groundwall on two threads", "bytes"],
          [[name, time.words("ms"), time.over(quickest).words(), f"{size[name]:.0f} KiB"] for name, time in each.items()])
    if not options.keep:
        shutil.rmtree(folder)


def report(works, options):
    """The report of a fleet in which every winding fails."""
    folder = works.folder / "report"

    def once():
        shutil.rmtree(folder, ignore_errors=True)
        return works.groundwall("report", fleet.history, "--register", fleet.register, "--as-of", AS_OF, "--out", folder)

    with works.fleet(options.reported, TESTS, "--failing", "1") as fleet:
        runs = in_turn({f"report of {fleet.windings} failing windings": once}, options.rounds)
    table(["what", "time", "peak memory"],
          [[name, seconds(done).words("s"), peak_mib(done).words("MiB")] for name, done in runs.items()])
    if not options.keep:
        shutil.rmtree(folder)


def startup(works, options):
    """What is waited for at the machine."""
    lines = {
        "`--help`": ["--help"],
        "`spot`": "spot --r60 200 --at 28 --rated-volts 480 --construction random-wound --insulation thermosetting".split(),
        "`correct`": "correct 200 --at 23 --insulation thermosetting".split(),
    }
    calls = {name: lambda line=line: works.groundwall(*line) for name, line in lines.items()}
    runs = in_turn(calls, 4 * options.rounds)
    table(["start-up", "time"],
          [[name, Figure(1e3 * one.seconds for one in done).words("ms")] for name, done in runs.items()])


PARTS = {"speed": speed, "scaling": scaling, "long": long, "charts": charts, "startup": startup, "report": report}
