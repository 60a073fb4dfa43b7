"""A coordinator's slip: who goes and who stays, with room to reply; as a workbook, on one page, as phone messages.

``layout`` and ``reply_code`` are the grammar that a program needs to read a reply; everything else writes.
"""
