"""The district's sheet, as a page and as a workbook that comes back filled in."""
