"""The drawings on the cards: functions from the domain's values to a whole SVG document.

Every drawing states its natural size in millimetres; its texts are at least 9 pt high at that size. Nothing in one
needs a style sheet, a script, an id or anything from outside, so that several may stand in one page.
May import: shown, words; balance.
"""
