"""Jobs on scales of their own, and their figures by name."""

import invented

from truethrow.balance.result.work import work

SCATTER = {1: 538.0, 2: 540.9, 3: 539.4, 4: 536.9, 5: 538.6, 6: 533.2, 7: 538.8, 8: 545.3}


def worked(scale=None, **changes):
    tables = {"scale": {"resolution": 0.1} | (scale or {})}
    return work(invented.build(invented.document(invented.cylinders(**changes), **tables)))


def by_figure(found):
    return {figure.figure: figure for figure in found}
