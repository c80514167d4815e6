"""Spreadsheets by openpyxl (.xlsx), xlwt (.xls) and odfpy (.ods).
In: {"write": path, "sheets": {name: [[cell, ...], ...]}, "merged": {name: [area]}, "formats": {name: {cell: format}}, "hidden": [name]}
or {"read": path} of an .xlsx. Out: {} or the cells. A text that begins with "=" is a formula.
"""
import json
import sys

import openpyxl
from openpyxl.utils import range_boundaries


def at(area):
    """First and last column and row, from 0."""
    left, top, right, bottom = range_boundaries(area)
    return left - 1, top - 1, right - 1, bottom - 1


def formats_of(asked, name):
    return {at(cell)[1::-1]: form for cell, form in asked.get("formats", {}).get(name, {}).items()}


def write_xlsx(asked):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in asked["sheets"].items():
        sheet = book.create_sheet(name)
        if name in asked.get("hidden", []):
            sheet.sheet_state = "hidden"
        for row in rows:
            sheet.append(row)
        for area in asked.get("merged", {}).get(name, []):
            sheet.merge_cells(area)
        for cell, form in asked.get("formats", {}).get(name, {}).items():
            sheet[cell].number_format = form
    book.save(asked["write"])


def write_xls(asked):
    import xlwt

    book = xlwt.Workbook()
    for name, rows in asked["sheets"].items():
        sheet = book.add_sheet(name)
        sheet.visibility = int(name in asked.get("hidden", []))
        formats = formats_of(asked, name)
        merged = {at(area)[1::-1]: at(area) for area in asked.get("merged", {}).get(name, [])}
        covered = {
            (row, column)
            for left, top, right, bottom in merged.values()
            for row in range(top, bottom + 1)
            for column in range(left, right + 1)
        }
        for r, row in enumerate(rows):
            for c, value in enumerate(row):
                style = xlwt.easyxf(num_format_str=formats.get((r, c), "General"))
                if (r, c) in merged:
                    left, top, right, bottom = merged[r, c]
                    sheet.write_merge(top, bottom, left, right, value, style)
                elif value is not None and (r, c) not in covered:
                    formula = isinstance(value, str) and value.startswith("=")
                    sheet.write(r, c, xlwt.Formula(value[1:]) if formula else value, style)
    book.save(asked["write"])


def write_ods(asked):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.style import Style, TableProperties
    from odf.table import CoveredTableCell, Table, TableCell, TableRow
    from odf.teletype import addTextToElement
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    away = Style(name="away", family="table")
    away.addElement(TableProperties(display="false"))
    book.automaticstyles.addElement(away)
    for name, rows in asked["sheets"].items():
        sheet = Table(name=name, **({"stylename": away} if name in asked.get("hidden", []) else {}))
        formats = formats_of(asked, name)
        merged = {at(area)[1::-1]: at(area) for area in asked.get("merged", {}).get(name, [])}
        covered = {
            (row, column)
            for left, top, right, bottom in merged.values()
            for row in range(top, bottom + 1)
            for column in range(left, right + 1)
        } - set(merged)
        for r, row in enumerate(rows):
            line = TableRow()
            for c, value in enumerate(row):
                spans = {}
                if (r, c) in merged:
                    left, top, right, bottom = merged[r, c]
                    spans = {"numbercolumnsspanned": right - left + 1, "numberrowsspanned": bottom - top + 1}
                if (r, c) in covered:
                    line.addElement(CoveredTableCell())
                elif value is None:
                    line.addElement(TableCell(**spans))
                elif isinstance(value, str) and value.startswith("="):
                    line.addElement(TableCell(formula=f"of:{value}", **spans))
                elif isinstance(value, str):
                    cell = TableCell(valuetype="string", **spans)
                    paragraph = P()
                    # Blanks beyond the first become elements, as OpenDocument has them.
                    addTextToElement(paragraph, value)
                    cell.addElement(paragraph)
                    line.addElement(cell)
                else:
                    form = formats.get((r, c), "")
                    shown = "percentage" if form.endswith("%") else "float"
                    if "yy" in form:
                        import datetime

                        day = datetime.date(1899, 12, 30) + datetime.timedelta(days=value)
                        line.addElement(TableCell(valuetype="date", datevalue=day.isoformat(), **spans))
                    else:
                        line.addElement(TableCell(valuetype=shown, value=str(value), **spans))
            sheet.addElement(line)
        book.spreadsheet.addElement(sheet)
    book.save(asked["write"])


asked = json.load(sys.stdin)
if "write" in asked:
    ending = asked["write"].rsplit(".", 1)[-1]
    {"xlsx": write_xlsx, "xls": write_xls, "ods": write_ods}[ending](asked)
    json.dump({}, sys.stdout)
else:
    book = openpyxl.load_workbook(asked["read"])
    cells = {sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book}
    kinds = {sheet.title: [[cell.data_type for cell in row] for row in sheet.iter_rows()] for sheet in book}
    json.dump({"cells": cells, "kinds": kinds}, sys.stdout, default=str)
