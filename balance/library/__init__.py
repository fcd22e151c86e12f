"""What `from truethrow import …` gives to whoever builds on it: jobs and formulas, every figure that goes in read
with its unit, every fault in words. The list of names is truethrow/__init__ (in .editable/truethrow).
May import: base, engine, crank, log, job, result, running, matching, book.
"""
