"""The shop's measuring tools: `model` what is known, `reader` the file, `finding` its place, `choosing` which is best.

Nothing is imported here: choosing needs no YAML, and whoever only chooses must load none.
"""
