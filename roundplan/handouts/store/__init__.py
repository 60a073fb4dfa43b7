"""The store's workbook: pick list, orders, walls to assemble, labels."""
