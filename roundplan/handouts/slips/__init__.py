"""A coordinator's slip: who goes and who stays, with room to reply; as a workbook, on one page, as phone messages.

``layout`` and ``reply_code`` are the grammar, ``reading`` reads a slip that came back by it; everything else writes.
"""
