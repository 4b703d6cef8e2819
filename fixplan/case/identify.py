"""Refusal of what could identify a person.

A case file travels by mail and lies printed in theatre: it carries a pseudonym and nothing else.
"""

from __future__ import annotations

import re

from fixplan.problems import Problem

REMEDY = 'remove it: a case file holds a pseudonym such as label = "DEMO-5A" and nothing that identifies a person'

# keys are compared without case, blanks and joining marks
_WORDS = (
    r"name|names|surname|forename|firstname|lastname|middlename|maidenname|givenname|familyname|fullname|initials"
    r"|dob|birth|born|mrn|nhs|ssn|passport|insurance|address|street|postcode|postalcode|zip|zipcode|city"
    r"|phone|mobile|telephone|tel|fax|email|mail|contact|identifier|accession|socialsecurity|nextofkin|photo"
)
_PARTS = (
    r"surname|forename|firstname|lastname|givenname|familyname|fullname|patientname|nameof|birth|hospital(?:no|num|id)"
    r"|patient(?:id|no|num)|record(?:no|num|id)|medicalrecord|chart(?:no|num)|nhs|mrn|insurance|address|postcode"
    r"|zipcode|phone|email|socialsecurity|accession|passport|dateofb|idnumber|studyuid|seriesuid"
)
_KEY = re.compile(rf"(?:{_WORDS})\d*|.*(?:{_PARTS}).*")

_DATE = re.compile(r"(?<!\d)(?:\d{1,2}[-./ ]\d{1,2}[-./ ](?:\d{4}|\d{2})|(?:19|20)\d{2}[-./ ]?\d{2}[-./ ]?\d{2})(?!\d)")
_LONG_NUMBER = re.compile(r"(?:\d[ .\-/]?){6,}")
_NAME = re.compile(r"[^\W\d_]{2,}(?:\s*,\s*|\s+)(?:[^\W\d_]\.?\s+)?[^\W\d_]{2,}")
_LABEL = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,39}")


def identifying(key: str) -> bool:
    """True when a key could hold a name, a birth date, a record number, an address."""
    return bool(_KEY.fullmatch(re.sub(r"[^a-z0-9]", "", key.casefold())))


def label_problem(label: str, path: str) -> Problem | None:
    """What is wrong with a label as a pseudonym, or None."""
    example = "use a pseudonym of letters, digits and - . _, for instance 'DEMO-5A'"
    text = label.strip()
    # the label itself is not repeated: what is refused as personal must not travel on in a message
    if "@" in text:
        return Problem(path, "looks like a mail address", REMEDY)
    if _DATE.search(text):
        return Problem(path, "looks like a date, perhaps of birth", REMEDY)
    if _LONG_NUMBER.search(text):
        return Problem(path, "holds a long number, perhaps of a record", REMEDY)
    if _NAME.fullmatch(text):
        return Problem(path, "could be a person's name", REMEDY)
    if not _LABEL.fullmatch(label):
        return Problem(path, f"'{label}' is not a label of 1 to 40 plain characters", example)
    return None
