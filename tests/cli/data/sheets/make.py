"""Writes the sheets of this folder: the tests of four invented motors in every layout that is read. See ../NOTE.md.

All dates are the middles of months and quarters, so that sheets dated by a month or a quarter hold the same tests.
"""
import csv
import datetime as dt

from openpyxl import Workbook

DATES = [dt.date(2024, 2, 15), dt.date(2024, 5, 16), dt.date(2024, 8, 16), dt.date(2024, 11, 16)]
MOTORS = {
    "P-101": [420, 410, 395, 380],
    "P-102": [980, 960, 900, 850],
    "F-201": [55, 30, 12, 0.9],
    "C-301": [1500, 1450, 1400, 1380],
}
TEMPS = [22, 24, 31, 19]


def text(name, rows, delimiter=","):
    with open(name, "w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=delimiter, lineterminator="\n").writerows(rows)


def workbook(name, sheets, merged=None):
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
        for area in (merged or {}).get(title, []):
            sheet.merge_cells(area)
    book.save(name)


def each(form=dt.date.isoformat):
    """One row per test: motor, date, reading, temperature."""
    return [[motor, form(day), value, temp] for motor, values in MOTORS.items() for day, value, temp in zip(DATES, values, TEMPS)]


def three(value):
    return [value, round(value * 1.02, 3), round(value * 0.98, 3)]


def comma(value):
    return str(value).replace(".", ",")


dmy = lambda day: day.strftime("%d/%m/%Y")
iso = [day.isoformat() for day in DATES]
quarters = ["Q1 2024", "Q2 2024", "Q3 2024", "Q4 2024"]
wide = [[motor, *values] for motor, values in MOTORS.items()]
phases = [[motor, day, *three(value)] for motor, day, value, _ in each()]
pairs = [[motor, day, *three(value), *three(2 * value), temp] for motor, day, value, temp in each()]
names = ["U-earth", "V-earth", "W-earth"]

# The same tests as plain tables.
text("plain.csv", [["winding", "tested_on", "r_60s"], *[row[:3] for row in each()]])
text("plain-temp.csv", [["winding", "tested_on", "r_60s", "winding_temp_c"], *each()])
text("plain-fahrenheit.csv", [["winding", "tested_on", "r_60s", "winding_temp_f"], *[[m, d, v, t * 9 / 5 + 32] for m, d, v, t in each()]])
text("plain-phases.csv", [["winding", "tested_on", "connection", "r_60s"],
     *[[row[0], row[1], name, value] for row in phases for name, value in zip(names, row[2:])]])
text("plain-phases-temp.csv", [["winding", "tested_on", "connection", "r_60s", "winding_temp_c"],
     *[[motor, day, name, value, temp] for motor, day, reading, temp in each() for name, value in zip(names, three(reading))]])
text("plain-pairs.csv", [["winding", "tested_on", "connection", "r_60s", "winding_temp_c"],
     *[[row[0], row[1], name, value, row[-1]] for row in pairs for name, value in zip([*names, "U-V", "V-W", "W-U"], row[2:])]])
text("plain-two-times.csv", [["winding", "tested_on", "connection", "r_60s", "r_600s"],
     *[[row[0], row[1], name, value, ten] for row in phases for name, value, ten in zip(names, row[2:], three(2 * MOTORS[row[0]][iso.index(row[1])]))]])
text("plain-dried.csv", [["winding", "tested_on", "r_60s", "event"],
     *[row for motor, values in MOTORS.items() for row in ([motor, iso[3], values[3], ""], [motor, iso[3] + "T23:59", values[0], "dried"])]])
text("plain-cleaned.csv", [["winding", "tested_on", "r_60s", "winding_temp_c", "event"],
     *[row for motor, values in MOTORS.items() for row in ([motor, iso[3], values[3], 19, ""], [motor, iso[3] + "T23:59", values[0], 25, "cleaned"])]])

# One column per date, quarter or month.
text("dates-across.csv", [["Motor", *iso], *wide])
text("dates-across-day-first.csv", [["Motor No", *map(dmy, DATES)], *wide])
text("quarters-across.csv", [["Motor", *quarters], *wide])
text("quarters-across-titled.csv", [["IR readings in MOhm"], ["", "2024-Q1", "2024-Q2", "2024-Q3", "2024-Q4"], *wide])
text("months-across.csv", [["Motor", "Feb 24", "May 24", "Aug 24", "Nov 24"], *wide])
workbook("months-across-year-sheet.xlsx", [("2024", [["Motor", "Feb", "May", "Aug", "Nov"], *wide])])
text("dates-across-areas.csv", [["Motor", *iso], ["Pump house"], *wide[:2], ["Fan house"], *wide[2:], ["Average", 738, 700, 670, 652]])
workbook("dates-across-two-years.xlsx", [("IR", [["Motor", "H1", None, "H2", None], [None, *iso], *wide])])
rows = [row for motor, values in MOTORS.items() for row in ([motor, "IR (MΩ)", *values], [None, "Temp (°C)", *TEMPS])]
text("dates-across-quantities.csv", [["Motor", "", *iso], *rows])
workbook("names-merged.xlsx", [("IR", [["Motor", "Date", "IR (MΩ)", "Temp (°C)"], *[[None if i % 4 else row[0], *row[1:]] for i, row in enumerate(each(lambda day: day))]])],
         {"IR": [f"A{2 + 4 * i}:A{5 + 4 * i}" for i in range(4)]})
workbook("dates-across-merged.xlsx", [("IR", [["Motor", "Item", *DATES], *rows])], {"IR": [f"A{2 + 2 * i}:A{3 + 2 * i}" for i in range(4)]})
text("dates-across-two-rows.csv", [["", iso[0], "", iso[1], "", iso[2], "", iso[3], ""], ["Motor", *["MΩ", "°C"] * 4],
     *[[motor, *[cell for pair in zip(values, TEMPS) for cell in pair]] for motor, values in MOTORS.items()]])
text("blocks-by-half.csv", [["First half"], ["Motor", *quarters[:2]], *[[m, *v[:2]] for m, v in MOTORS.items()], [],
     ["Second half"], ["Motor", *quarters[2:]], *[[m, *v[2:]] for m, v in MOTORS.items()]])

# A sheet per motor, area or quarter.
table = lambda values: [["Date", "IR MΩ", "Temp °C"], *[[day, value, temp] for day, value, temp in zip(DATES, values, TEMPS)]]
workbook("sheet-per-motor.xlsx", [(motor, table(values)) for motor, values in MOTORS.items()])
workbook("sheet-per-motor-titled.xlsx", [(f"Sheet{i}", [["Insulation resistance record"], ["Motor No:", motor, None, "Rated:", "400 V"], [], *table(values)])
         for i, (motor, values) in enumerate(MOTORS.items(), 1)])
workbook("sheet-per-motor-across.xlsx", [(motor, [["Date", *DATES], ["R 1 min (MΩ)", *values], ["Temp (°C)", *TEMPS]]) for motor, values in MOTORS.items()])
workbook("sheet-per-quarter.xlsx", [(name, [["Motor", "MΩ", "°C"], *[[m, v[i], TEMPS[i]] for m, v in MOTORS.items()]]) for i, name in enumerate(quarters)])
areas = {"Pump house": ["P-101", "P-102"], "Fan house": ["F-201"], "Compressors": ["C-301"]}
workbook("sheet-per-area.xlsx", [(area, [["Motor", "Date", "IR (MΩ)"], *[[m, d, v] for m in motors for d, v in zip(DATES, MOTORS[m])]]) for area, motors in areas.items()]
         + [("Notes", [["This workbook holds the tests of an invented site."]])])

# Phases and pairs in columns.
text("phases.csv", [["Motor", "Date", "R-E", "S-E", "T-E"], *phases])
text("phases-and-pairs.csv", [["Motor", "Date", "R-E", "S-E", "T-E", "R-S", "S-T", "T-R", "Temp"], *pairs])
text("phases-two-times.csv", [["Motor", "Date", "U 1 min", "V 1 min", "W 1 min", "U 10 min", "V 10 min", "W 10 min"],
     *[[m, d, *three(v), *three(2 * v)] for m, d, v, _ in each()]])
text("phases-ground.csv", [["Asset", "Test date", "A-G", "B-G", "C-G"], *phases])
text("phases-letters.csv", [["Motor", "Date", "U", "V", "W", "Remarks"], *[[*row, ""] for row in phases]])
text("phases-colours.csv", [["Motor", "Date", "R-E", "Y-E", "B-E"], *phases])
text("phases-lines.csv", [["Motor", "Date", "L1-PE", "L2-PE", "L3-PE"], *phases])
workbook("phases-two-rows.xlsx", [("IR", [["Motor", "Date", "Insulation resistance MΩ", None, None, "Temp"], [None, None, "U", "V", "W", "°C"],
         *[[m, dt.date.fromisoformat(d), *three(v), t] for m, d, v, t in each()]])], {"IR": ["C1:E1", "A1:A2", "B1:B2"]})

# Before and after work.
text("before-after.csv", [["Motor", "Date", "Before drying", "After drying"], *[[m, iso[3], v[3], v[0]] for m, v in MOTORS.items()]])
text("before-after-two-rows.csv", [["", "", "Before cleaning", "", "After cleaning", ""], ["Motor", "Date", "R60 MΩ", "Temp °C", "R60 MΩ", "Temp °C"],
     *[[m, iso[3], v[3], 19, v[0], 25] for m, v in MOTORS.items()]])

# One row per measuring point.
points = [["Asset", "Work order", "Completed Date", "Measuring point", "Reading", "Unit"]]
for i, (motor, day, value, temp) in enumerate(each()):
    points += [[motor, f"W{i}", day, "IR 1 MIN", value, "MOHM"], [motor, f"W{i}", day, "WDG TEMP", temp, "DEGC"], [motor, f"W{i}", day, "VIB DE", 2.1, "mm/s"]]
text("points.csv", points)
text("points-named.csv", [["Equipment", "Date", "Point", "Value"],
     *[row for m, d, v, t in each() for row in ([m, d, "Insulation resistance (MOhm)", v], [m, d, "Winding temperature (°C)", t])]])

# Units in a column or a title, years and quarters, other words.
text("units.csv", [["Motor", "Date", "Reading", "Unit"], *[[m, d, v * 1000, "kOhm"] for m, d, v, _ in each()]])
text("units-mixed.csv", [["Tag", "Date", "Meg", "U/M", "Temp"], *[[m, d, v / 1000 if v > 900 else v, "GOHM" if v > 900 else "MOHM", t] for m, d, v, t in each()]])
text("unit-in-title.csv", [["Insulation resistance, all values in kOhm"], ["Motor", "Date", "IR"], *[[m, d, v * 1000] for m, d, v, _ in each()]])
text("year-quarter.csv", [["Motor", "Year", "Quarter", "IR"], *[[m, 2024, f"Q{i + 1}", v] for m, values in MOTORS.items() for i, v in enumerate(values)]])
text("year-quarter-once.csv", [["Motor", "Year", "Qtr", "MOhm"], *[["" if i else m, 2024, i + 1, v] for m, values in MOTORS.items() for i, v in enumerate(values)]])
text("export.csv", [["Loc", "Equipment", "Completed Date", "Meg", "Temp (F)", "Tech"],
     *[["MCC1", m, d.strftime("%m/%d/%Y"), v, t * 9 / 5 + 32, "T1"] for m, d, v, t in each(lambda day: day)]])
text("month-in-letters.csv", [["WO", "Asset", "Date", "IR Reading (MOhms)", "PI"], *[[i, m, d, v, 2.1] for i, (m, d, v, _) in enumerate(each(lambda day: day.strftime("%b %d, %Y")))]])

# Names above or beside their block; motors across.
text("blocks.csv", [row for m, v in MOTORS.items() for row in ([m], ["Date", "IR MΩ", "Temp"], *[[d, r, t] for d, r, t in zip(iso, v, TEMPS)], [""])])
side = lambda a, b: [[a, "", "", b, "", ""], ["Date", "MΩ", "°C"] * 2, *[[d, x, t, d, y, t] for d, x, y, t in zip(iso, MOTORS[a], MOTORS[b], TEMPS)]]
text("blocks-side-by-side.csv", [*side("P-101", "P-102"), [], *side("F-201", "C-301")])
text("motors-across.csv", [["Date", *MOTORS], *[[d, *[v[i] for v in MOTORS.values()]] for i, d in enumerate(iso)]])

# A form of each motor, lists of checks of a round, and a pivot table.
text("forms.csv", [row for motor, day, value, temp in each() for row in [
    ["Motor", motor, ""], ["Date", day, ""], ["Insulation resistance", value, "MΩ"], ["Winding temp", temp, "°C"], ["", "", ""]]])
text("checks.csv", [row for i, day in enumerate(iso) for row in [
    ["Check", *MOTORS], ["Date done", *[day] * len(MOTORS)], ["Terminal box clean", *["Y"] * len(MOTORS)],
    ["IR (MΩ)", *[values[i] for values in MOTORS.values()]], ["", *[""] * len(MOTORS)]]])
text("pivot.csv", [["Average of Megohms", "Column Labels", "", "", "", ""], ["Row Labels", *iso, "Grand Total"],
     *[[motor, *values, round(sum(values) / len(values), 2)] for motor, values in MOTORS.items()],
     ["Grand Total", *[round(sum(v[i] for v in MOTORS.values()) / len(MOTORS), 2) for i in range(4)], ""]])

# Header words of other languages.
for name, header, form in [
    ("german", ["Maschine", "Datum", "Isolationswiderstand (MΩ)", "Wicklungstemperatur °C"], "%d.%m.%Y"),
    ("french", ["Moteur", "Date d'essai", "Résistance d'isolement (MΩ)", "Température bobinage (°C)"], "%d/%m/%Y"),
    ("spanish", ["Motor", "Fecha", "Resistencia de aislamiento (MΩ)", "Temperatura (°C)"], "%d/%m/%Y"),
    ("italian", ["Motore", "Data", "Resistenza di isolamento (MΩ)", "Temperatura avvolgimento (°C)"], "%d/%m/%Y"),
    ("portuguese", ["Equipamento", "Data do ensaio", "Resistência de isolamento (MΩ)", "Temperatura (°C)"], "%d/%m/%Y"),
    ("dutch", ["Machine", "Datum", "Isolatieweerstand (MΩ)", "Wikkelingstemperatuur (°C)"], "%d-%m-%Y"),
]:
    text(f"{name}.csv", [header, *[[m, d, comma(v), t] for m, d, v, t in each(lambda day: day.strftime(form))]], ";")

# Motors above groups of columns, windings of one machine, what is said of a whole round.
windings = [[m, part, d, v * factor] for m, d, v, _ in each() for part, factor in (("Stator", 1), ("Rotor", 2))]
text("plain-components.csv", [["winding", "tested_on", "r_60s"], *[[f"{m} {part}", d, v] for m, part, d, v in windings]])
text("machine-and-winding.csv", [["Motor", "Winding", "Date", "IR (MΩ)"], *windings])
text("plain-air.csv", [["winding", "tested_on", "r_60s", "air_temp_c"], *each()])
text("round-temperature.csv", [["Motor", *iso], ["Ambient °C", *TEMPS], *wide, ["Tested by", "AB", "CD", "AB", "CD"], ["Min. value", 55, 30, 12, 0.9]])
workbook("motors-grouped.xlsx", [("IR", [[None, *[cell for m in MOTORS for cell in (m, None)]], ["Date", *["MΩ", "°C"] * 4],
         *[[d, *[cell for v in MOTORS.values() for cell in (v[i], TEMPS[i])]] for i, d in enumerate(DATES)]])], {"IR": ["B1:C1", "D1:E1", "F1:G1", "H1:I1"]})

# Names, dates and times once, in rows or columns of their own.
text("dates-once.csv", [["Date", "Motor", "MΩ", "°C"], *[["" if j else d, m, v[i], TEMPS[i]] for i, d in enumerate(iso) for j, (m, v) in enumerate(MOTORS.items())]])
text("motor-above.csv", [["Date", "MΩ", "°C"], *[row for m, v in MOTORS.items() for row in ([m, "", ""], *zip(iso, v, TEMPS))]])
text("date-above.csv", [["Motor", "MΩ", "°C"], *[row for i, d in enumerate(iso) for row in ([d, "", ""], *[[m, v[i], TEMPS[i]] for m, v in MOTORS.items()])]])
text("plain-time.csv", [["winding", "tested_on", "r_60s"], *[[m, f"{d}T14:30", v] for m, d, v, _ in each()]])
text("time-of-day.csv", [["Motor", "Date", "Time", "MΩ"], *[[m, d, "14:30", v] for m, d, v, _ in each()]])
text("quarters-down.csv", [["Quarter", *MOTORS], *[[q, *[v[i] for v in MOTORS.values()]] for i, q in enumerate(quarters)]])
text("day-month-year.csv", [["Motor", "Day", "Month", "Year", "MΩ"], *[[m, d.day, d.month, d.year, v] for m, d, v, _ in each(lambda day: day)]])
text("timed-blocks.csv", [row for m, d, v, _ in each() for row in (["Motor:", m], ["Date:", d], ["Time (min)", "MΩ"], [1, v], [10, 2 * v], [""])])
text("plain-ten.csv", [["winding", "tested_on", "r_60s", "r_600s"], *[[m, d, v, 2 * v] for m, d, v, _ in each()]])

# Units under no header that says so, or in a row of their own; thousands.
text("units-unnamed.csv", [["Motor", "Date", "Reading", "Scale"], *[[m, d, v * 1000, "kΩ"] for m, d, v, _ in each()]])
text("units-below.csv", [["Motor", "Date", "IR", "Temp"], ["", "", "kΩ", "°C"], *[[m, d, v * 1000, t] for m, d, v, t in each()]])
grouped = lambda v: f"{v / 1000:.3f}" if v >= 1000 else comma(v)
text("thousands.csv", [["Motor", "Datum", "MΩ"], *[[m, d, "1.500,0" if v == 1500 else grouped(v)] for m, d, v, _ in each()]], ";")

# A sheet that only a description can tell.
text("described.csv", [["Round", "", *["I", "II", "III", "IV"]], ["Day", "", *iso], ["Position", "Item", "", "", "", ""],
     *[row for m, v in MOTORS.items() for row in ([m, "a", *v], ["", "b", *TEMPS])]])

# Dates above phases and phases above dates, merged or written once.
once = lambda texts, count: [cell for text in texts for cell in (text, *[None] * (count - 1))]
by_date = [[m, *[cell for v in values for cell in three(v)]] for m, values in MOTORS.items()]
by_phase = [[m, *[three(v)[i] for i in range(3) for v in values]] for m, values in MOTORS.items()]
workbook("dates-above-phases.xlsx", [("IR", [["Motor", *once(DATES, 3)], [None, *["R", "S", "T"] * 4], *by_date])],
         {"IR": ["A1:A2", "B1:D1", "E1:G1", "H1:J1", "K1:M1"]})
text("dates-above-phases.csv", [["Motor", *once(iso, 3)], [None, *["U", "V", "W"] * 4], *by_date])
text("phases-above-dates.csv", [["Motor", *once(["R-E", "S-E", "T-E"], 4)], [None, *iso * 3], *by_phase])
text("phases-beside-temperature.csv", [["Motor", "Date", "R", "S", "T", "Temp °C"], *[[m, d, *three(v), t] for m, d, v, t in each()]])

# Several tests of a motor in one row, each with its date.
pair = lambda i: [[m, iso[i + 1], v[i + 1], iso[i], v[i]] for m, v in MOTORS.items()]
text("last-and-previous.csv", [["Motor", "Last test date", "Last IR (MΩ)", "Previous test date", "Previous IR (MΩ)"], *pair(0), *pair(2)])
text("present-beside-last.csv", [["Motor", "Date", "Reading", "Last date", "Last reading"], *pair(0), *pair(2)])
text("last-test-above.csv", [["Motor", "Last test", "", "Previous test", ""], ["", "Date", "MΩ", "Date", "MΩ"], *pair(0), *pair(2)])
text("tables-beside.csv", [["Motor", "Date", "MΩ", "°C", "", "Motor", "Date", "MΩ", "°C"],
     *[[*one, "", *other] for one, other in zip(each()[:8], each()[8:])]])
text("tests-grouped.csv", [["Motor", "1st test", "", "", "2nd test", "", "", "3rd test", "", "", "4th test", "", ""],
     ["", *["Date", "MΩ", "°C"] * 4],
     *[[motor, *[cell for day, value, temp in zip(iso, values, TEMPS) for cell in (day, value, temp)]] for motor, values in MOTORS.items()]])
workbook("sheet-per-month.xlsx", [(month, [["Year:", 2024], ["Motor", "MΩ", "°C"], *[[motor, values[at], TEMPS[at]] for motor, values in MOTORS.items()]])
                                  for at, month in enumerate(["February", "May", "August", "November"])])
workbook("sheet-per-round.xlsx", [(f"Round {at + 1}", [["Motor", DATES[at]], *[[motor, values[at]] for motor, values in MOTORS.items()]]) for at in range(4)])
workbook("sheet-per-record.xlsx", [(f"Sheet{at + 1}", [[f"Insulation test record: motor {motor} (invented)"], ["Date", "MΩ", "°C"], *[[*cells] for cells in zip(DATES, values, TEMPS)]])
                                   for at, (motor, values) in enumerate(MOTORS.items())])
text("tests-numbered.csv", [["Motor", *[f"Test {i} {what}" for i in range(1, 5) for what in ("date", "MΩ")]],
     *[[m, *[cell for pair in zip(iso, values) for cell in pair]] for m, values in MOTORS.items()]])

# An export of a maintenance system in its own words, and two windings side by side.
text("export-points.csv", [["Functional Loc", "Meas. date", "Characteristic", "Measured value", "Unit of measure"],
     *[row for m, d, v, t in each() for row in ([m, d, "Insulation resistance", v, "MOhm"], [m, d, "Winding temperature", t, "°C"])]])
sides = {(m, d): {part: v for m2, part, d2, v in windings if (m2, d2) == (m, d)} for m, _, d, _ in windings}
text("windings-beside.csv", [["Motor", "Date", "Stator to earth", "Rotor to earth"],
     *[[m, d, parts["Stator"], parts["Rotor"]] for (m, d), parts in sides.items()]])
