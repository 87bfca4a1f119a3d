"""Writes the fixtures: the same six tests in every dialect that is read. See NOTE.md."""
import csv, gzip, io, datetime as dt, subprocess, shutil, os, zipfile
import openpyxl, pandas, xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.number import Number, NumberStyle, Text as NumberText
from odf.style import Style
from odf.table import Table, TableCell, TableColumn, TableRow
from odf.text import P

HEAD = ["winding", "tested_on", "connection", "test_volts", "r_60s", "r_600s", "winding_temp_c", "rh_percent", "event", "note"]
ROWS = [
    ["P-101 stator", dt.date(2024, 1, 5), "all-earth", 500, 412.125, 980.5, 23.5, 45, "", "first, with comma"],
    ["P-101 stator", dt.date(2024, 4, 3), "all-earth", 500, 398.7, 901, 24, 51, "", ""],
    ["P-101 stator", dt.date(2024, 7, 9), "all-earth", 500, 77.3, 150.25, 31.5, 60, "cleaned", "dry cloth"],
    ["G-2 Läufer", dt.date(2024, 1, 5), "U-earth", 1000, ">2000", ">2000", 18, 40, "", 'a "quoted" word'],
    ["G-2 Läufer", dt.date(2024, 4, 3), "U-earth", 1000, "1.25 GΩ", "2.5 GΩ", -4.5, 38, "", ""],
    ["G-2 Läufer", dt.date(2024, 7, 9), "U-earth", 1000, 0.1, 0.223456789012345, 40, 70, "dried", "two\nlines"],
]

def text(value, comma=False):
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, (int, float)):
        return repr(value).replace(".", ",") if comma else repr(value)
    if comma and value in ("1.25 GΩ", "2.5 GΩ"):
        return value.replace(".", ",")
    return value

def table(delimiter=",", comma=False, end="\n", trailing=False, ohm=True):
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    for row in [HEAD] + ROWS:
        cells = [text(cell, comma) for cell in row] + ([""] if trailing else [])
        if not ohm:
            cells = [cell.replace("Ω", "ohm") for cell in cells]
        writer.writerow(cells)
    return out.getvalue()

def write(name, data):
    with open(name, "wb") as file:
        file.write(data)

write("comma.csv", table().encode())
write("crlf-bom.csv", b"\xef\xbb\xbf" + table(end="\r\n").encode())
write("semicolon.csv", table(";", comma=True, trailing=True).encode())
write("tab.tsv", table("\t").encode())
write("utf16le.csv", b"\xff\xfe" + table("\t", end="\r\n").encode("utf-16-le"))
write("utf16be.csv", b"\xfe\xff" + table(";", comma=True).encode("utf-16-be"))
write("windows-1252.csv", table(";", comma=True, end="\r\n", ohm=False).encode("cp1252"))
write("titled.csv", ("Insulation tests, building 7\nprinted;by;hand\n\n" + table()).encode())
write("packed.csv.gz", gzip.compress(table().encode(), mtime=0))

# Cells that no program should write, one in each row but the last.
NS = "http://schemas.openxmlformats.org/%s"
PARTS = {
    "[Content_Types].xml": f'<Types xmlns="{NS % "package/2006/content-types"}"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>',
    "_rels/.rels": f'<Relationships xmlns="{NS % "package/2006/relationships"}"><Relationship Id="r1" Type="{NS % "officeDocument/2006/relationships/officeDocument"}" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": f'<workbook xmlns="{NS % "spreadsheetml/2006/main"}" xmlns:r="{NS % "officeDocument/2006/relationships"}"><sheets><sheet name="Tests" sheetId="1" r:id="r1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{NS % "package/2006/relationships"}"><Relationship Id="r1" Type="{NS % "officeDocument/2006/relationships/worksheet"}" Target="worksheets/sheet1.xml"/></Relationships>',
}
def cell(place, value):
    return f'<c{place} t="inlineStr"><is><t>{value}</t></is></c>'
lines = ["".join(cell(f' r="{letter}1"', name) for letter, name in zip("ABCD", ["winding", "tested_on", "r_60s", "winding_temp_c"]))]
for i, odd in enumerate(['<c r="C2" t="b"><v>7</v></c>', "", '<c r=""><v>6</v></c>', "", '<c r="C0"><v>6</v></c>', "", '<c r="ZZZZ9"><v>6</v></c>', "", '<c t="b"><v>7</v></c>', ""]):
    row, date, counts = i + 2, f"2026-{i + 1:02}-05", '<c r="C%d"><v>5</v></c>' % (i + 2)
    place = (lambda letter: "") if odd.startswith("<c t") else (lambda letter: f' r="{letter}{row}"')
    lines.append(cell(place("A"), "P-1") + cell(place("B"), date) + (odd or counts) + f'<c{place("D")}><v>20</v></c>')
rows = "".join(f'<row r="{i + 1}">{line}</row>' for i, line in enumerate(lines))
with zipfile.ZipFile("odd-cells.xlsx", "w", zipfile.ZIP_DEFLATED) as file:
    for name, part in {**PARTS, "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{NS % "spreadsheetml/2006/main"}"><sheetData>{rows}</sheetData></worksheet>'}.items():
        file.writestr(zipfile.ZipInfo(name), part)

# One row per timed reading.
out = io.StringIO(newline="")
writer = csv.writer(out, lineterminator="\n")
writer.writerow([*HEAD[:4], "elapsed_s", "resistance", *HEAD[6:]])
for row in ROWS:
    for seconds, value in ((60, row[4]), (600, row[5])):
        writer.writerow([text(cell) for cell in [*row[:4], seconds, value, *row[6:]]])
write("timed.csv", out.getvalue().encode())

# Other people's headers.
usual = ["Motor", "Date tested", "Measured between", "Test voltage (V)", "R60 (MΩ)", "IR 10 min", "Winding temp °C", "RH %", "Work done", "Remarks"]
write("usual-words.csv", (",".join(usual) + "\n" + table().split("\n", 1)[1]).encode())

# openpyxl: a cover sheet, merged title rows, date cells, formulas without a cached value are left out.
book = openpyxl.Workbook()
book.active.title = "Cover"
book.active["A1"] = "Insulation tests"
sheet = book.create_sheet("Tests")
sheet["A1"] = "Insulation tests of building 7"
sheet.merge_cells("A1:J1")
sheet["A2"] = "one row per test"
sheet.merge_cells("A2:J2")
sheet.append([])
for row in [HEAD] + ROWS:
    sheet.append([None if cell == "" else cell for cell in row])
book.save("openpyxl.xlsx")

frame = pandas.DataFrame([[pandas.Timestamp(cell) if isinstance(cell, dt.date) else cell for cell in row] for row in ROWS], columns=HEAD)
frame.to_csv("pandas.csv", index=False)
frame.to_excel("pandas.xlsx", index=False, sheet_name="history")

book = xlwt.Workbook()
sheet = book.add_sheet("Tests")
day = xlwt.easyxf(num_format_str="DD.MM.YYYY")
for i, row in enumerate([HEAD] + ROWS):
    for j, cell in enumerate(row):
        if isinstance(cell, dt.date):
            sheet.write(i, j, cell, day)
        elif cell != "":
            sheet.write(i, j, cell)
book.save("xlwt.xls")

document = OpenDocumentSpreadsheet()
sheet = Table(name="Tests")
for row in [HEAD] + ROWS:
    line = TableRow()
    for cell in row:
        if isinstance(cell, dt.date):
            item = TableCell(valuetype="date", datevalue=cell.isoformat())
            item.addElement(P(text=cell.strftime("%d.%m.%y")))
        elif isinstance(cell, (int, float)):
            item = TableCell(valuetype="float", value=repr(cell))
            item.addElement(P(text=str(cell)))
        elif cell == "":
            item = TableCell()
        else:
            item = TableCell(valuetype="string")
            for part in cell.split("\n"):
                item.addElement(P(text=part))
        line.addElement(item)
    sheet.addElement(line)
document.spreadsheet.addElement(sheet)
document.save("odfpy.ods")

# Numbers that are shown with a unit by their format: `840` looks like `840 kΩ`.
SHOWN = [["Motor", "Date", "IR"], ["P-1", dt.date(2025, 10, 10), 840], ["P-1", dt.date(2026, 10, 10), 838]]
book = openpyxl.Workbook()
for row in SHOWN:
    book.active.append(row)
    book.active.cell(book.active.max_row, 3).number_format = '0" k\u03a9"'
book.active.title = "Shown"
book.save("shown.xlsx")
book = xlwt.Workbook()
sheet = book.add_sheet("Shown")
unit = xlwt.easyxf(num_format_str='0" k\u03a9"')
for i, row in enumerate(SHOWN):
    for j, cell in enumerate(row):
        sheet.write(i, j, *((cell, day) if isinstance(cell, dt.date) else (cell, unit)))
book.save("shown.xls")
document = OpenDocumentSpreadsheet()
form = NumberStyle(name="N1")
form.addElement(Number(decimalplaces="0", minintegerdigits="1"))
form.addElement(NumberText(text=" k\u03a9"))
document.automaticstyles.addElement(form)
document.automaticstyles.addElement(Style(name="ce1", family="table-cell", datastylename="N1"))
sheet = Table(name="Shown")
sheet.addElement(TableColumn(numbercolumnsrepeated=2))
sheet.addElement(TableColumn(defaultcellstylename="ce1"))
for row in SHOWN:
    line = TableRow()
    for cell in row:
        if isinstance(cell, dt.date):
            item = TableCell(valuetype="date", datevalue=cell.isoformat())
        elif isinstance(cell, int):
            item = TableCell(valuetype="float", value=cell)
        else:
            item = TableCell(valuetype="string")
            item.addElement(P(text=cell))
        line.addElement(item)
    sheet.addElement(line)
document.spreadsheet.addElement(sheet)
document.save("shown.ods")

# Numbers that are shown as names by their format: `410012` looks like `00410012`, and `7` like `P-007`.
NAMED = [["Motor", "Date", "IR"], [410012, dt.date(2025, 10, 10), 840], [7, dt.date(2026, 10, 10), 838]]
FORMS = ["00000000", '"P-"000']
book = openpyxl.Workbook()
for i, row in enumerate(NAMED):
    book.active.append(row)
    if i:
        book.active.cell(i + 1, 1).number_format = FORMS[i - 1]
        book.active.cell(i + 1, 3).number_format = "0000"
book.active.title = "Named"
book.save("named.xlsx")
book = xlwt.Workbook()
sheet = book.add_sheet("Named")
for i, row in enumerate(NAMED):
    for j, cell in enumerate(row):
        form = {0: FORMS[i - 1], 1: "dd.mm.yyyy", 2: "0000"}[j] if i else "General"
        sheet.write(i, j, cell, xlwt.easyxf(num_format_str=form))
book.save("named.xls")
document = OpenDocumentSpreadsheet()
sheet = Table(name="Named")
for row, seen in zip(NAMED, ["Motor", "00410012", "P-007"]):
    line = TableRow()
    for cell in row:
        if isinstance(cell, dt.date):
            item = TableCell(valuetype="date", datevalue=cell.isoformat())
        elif isinstance(cell, int):
            item = TableCell(valuetype="float", value=cell)
            item.addElement(P(text=seen if cell == row[0] else f"{cell:04}"))
        else:
            item = TableCell(valuetype="string")
            item.addElement(P(text=cell))
        line.addElement(item)
    sheet.addElement(line)
document.spreadsheet.addElement(sheet)
document.save("named.ods")

# An office suite without a screen: from a workbook with formulas, so that cached values are written.
book = openpyxl.Workbook()
sheet = book.active
sheet.title = "Computed"
for i, row in enumerate([HEAD] + ROWS):
    cells = [None if cell == "" else cell for cell in row]
    if i and isinstance(row[4], float):
        cells[5] = f"={row[5]!r}*1"
    sheet.append(cells)
os.makedirs("tmp", exist_ok=True)
book.save("tmp/office.xlsx")
for kind in ("xlsx:Calc MS Excel 2007 XML", "ods", "xls:MS Excel 97"):
    subprocess.run(["soffice", "--headless", "--convert-to", kind, "--outdir", "tmp/out", "tmp/office.xlsx"], check=True, capture_output=True)
for ending in ("xlsx", "ods", "xls"):
    shutil.copy(f"tmp/out/office.{ending}", f"office.{ending}")
shutil.rmtree("tmp")
