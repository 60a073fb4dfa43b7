"""Printed documents: blocks of text and tables, checked for missing letters, set as PDF with fonts of our own."""
