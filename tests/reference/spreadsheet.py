"""Spreadsheets by openpyxl. In: {"write": path, "sheets": {name: [[cell, ...], ...]}} or {"read": path}. Out: {} or the cells."""
import json
import sys

import openpyxl

asked = json.load(sys.stdin)
if "write" in asked:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in asked["sheets"].items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for area in asked.get("merged", {}).get(name, []):
            sheet.merge_cells(area)
        for cell, form in asked.get("formats", {}).get(name, {}).items():
            sheet[cell].number_format = form
    book.save(asked["write"])
    json.dump({}, sys.stdout)
else:
    book = openpyxl.load_workbook(asked["read"])
    cells = {sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book}
    kinds = {sheet.title: [[cell.data_type for cell in row] for row in sheet.iter_rows()] for sheet in book}
    json.dump({"cells": cells, "kinds": kinds}, sys.stdout, default=str)
