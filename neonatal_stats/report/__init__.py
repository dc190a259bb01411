"""Binds the chapters into a page, a keeper's summary, a workbook, and loose tables and figures."""
