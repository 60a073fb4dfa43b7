"""A coordinator's slip: who goes and who stays, with room to reply; as a workbook, on one page, as phone messages.

The grammar of slips is in :mod:`roundplan.slips`; here they are written.
"""
