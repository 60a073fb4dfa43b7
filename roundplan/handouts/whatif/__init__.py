"""One round under changed settings, side by side: a page and a workbook for the programme manager."""
