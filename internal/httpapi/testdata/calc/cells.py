"""Opens a workbook in LibreOffice, computes it, and prints its sheets as JSON.

usage: cells.py PROFILE_FOLDER WORKBOOK

Each sheet is {"name", "rows": [[text, …], …], "errors": {"B12": number}}. Texts are those that a
person sees. It needs the Python that has LibreOffice's module uno.
"""

import json
import os
import subprocess
import sys
import time

import uno
from com.sun.star.beans import PropertyValue

START_SECONDS = 90
FULL_UPDATE = 3  # com.sun.star.document.UpdateDocMode


def value(name, what):
    p = PropertyValue()
    p.Name, p.Value = name, what
    return p


def connect(pipe):
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    end = time.time() + START_SECONDS
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except Exception:
            if time.time() > end:
                raise
            time.sleep(0.2)


def told(sheet):
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    last = cursor.getRangeAddress()
    rows, errors = [], {}
    for y in range(last.EndRow + 1):
        row = []
        for x in range(last.EndColumn + 1):
            cell = sheet.getCellByPosition(x, y)
            row.append(cell.String)
            if cell.getError():
                errors[cell.AbsoluteName.split(".")[-1].replace("$", "")] = cell.getError()
        rows.append(row)
    return {"name": sheet.Name, "rows": rows, "errors": errors}


def main():
    profile, workbook = sys.argv[1:3]
    pipe = f"midstroke{os.getpid()}"
    office = subprocess.Popen(
        ["soffice", f"-env:UserInstallation=file://{profile}", "--headless", "--norestore", "--nologo", f"--accept=pipe,name={pipe};urp;"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    desktop = None
    try:
        context = connect(pipe)
        desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        document = desktop.loadComponentFromURL(f"file://{workbook}", "_blank", 0, (value("Hidden", True), value("UpdateDocMode", FULL_UPDATE)))
        document.calculateAll()
        print(json.dumps([told(document.Sheets.getByIndex(i)) for i in range(document.Sheets.Count)]))
        document.close(True)
    finally:
        try:
            desktop.terminate()
        except Exception:
            office.terminate()
        office.wait(30)


main()
