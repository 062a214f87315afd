"""What may be replaced: a file that this program wrote, known by a mark in it, that is empty, or that --force names."""

from __future__ import annotations

import os
import re
import stat

from hydro.errors import Complaint, InputError

MOST_READ = 5_000_000
"""So much of a file is looked at for its mark, in bytes."""
OWN = tuple(re.compile(mark, re.DOTALL) for mark in (
    rb"<!doctype html>\s*<html[^>]*><head>.{1,2000}? - plumbing report</title>",
    rb'\s*\[?\s*\{\s*"program": "sumpwright",',
    rb'\{\s*"\$schema": "[^"]*",\s*"title": "case file of sumpwright",',
    rb'"?time, s"?,"level of ',
    rb"<svg .*?(?:drilling template 1:1</title>|>what the loop asks for<)",
    rb"%PDF.*drilling template 1:1",
    rb"The sections of a case file, and how their keys are written\n-----",
    rb"(?:[^\n]{1,240}\n){1,8}\n(?:Answer|Attention|Felt-pen line|Verdict|What)  "))
"""How the files of each kind begin that are written here: page, JSON, schema, series, drawings, template, words, reports."""


def keep_what_is_not_ours(option: str, to: str) -> None:
    """InputError where a file that stands there already was not written by this program, or belongs to somebody else."""
    try:
        known = os.stat(to)
        if not stat.S_ISREG(known.st_mode):
            return
    except OSError:
        return  # nothing there, or nobody can tell: the writing itself says so
    try:
        with open(to, "rb") as file:
            there = file.read(MOST_READ)
    except OSError:
        there = b"?"
    if hasattr(os, "geteuid") and known.st_uid != os.geteuid():
        found = "a file of another owner stands there"
    elif there and not any(mark.match(there) for mark in OWN):
        found = "a file stands there that this program did not write"
    else:
        return
    raise InputError([Complaint(to, 0, option, found, "another name, or --force to replace it")])
