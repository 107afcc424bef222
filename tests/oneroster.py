"""A bulk zip of a class as a school system gives it, with every column of the standard, written without our reader's tables."""

from __future__ import annotations

import csv
from io import BytesIO, StringIO
from zipfile import ZIP_DEFLATED, ZipFile

# 1EdTech OneRoster CSV binding 1.2, tables of classes.csv, users.csv and enrollments.csv: the columns in their order.
CLASSES = (
    "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,classType,location,schoolSourcedId,termSourcedIds,"
    "subjects,subjectCodes,periods"
)
USERS = (
    "sourcedId,status,dateLastModified,enabledUser,username,userIds,givenName,familyName,middleName,identifier,email,sms,phone,"
    "agentSourcedIds,grades,password,userMasterIdentifier,resourceSourcedIds,preferredGivenName,preferredMiddleName,preferredFamilyName,"
    "primaryOrgSourcedId,pronouns"
)
ENROLLMENTS = "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,role,primary,beginDate,endDate"
FILES = (
    *("academicSessions", "categories", "classes", "classResources", "courses", "courseResources", "demographics", "enrollments"),
    *("lineItemLearningObjectiveIds", "lineItems", "lineItemScoreScales", "orgs", "resources", "resultLearningObjectiveIds"),
    *("results", "resultScoreScales", "roles", "scoreScales", "userProfiles", "userResources", "users"),
)

Rows = list[dict[str, str]]


def a_class(id_: str = "cl-7", title: str = "Form Seven") -> dict[str, str]:
    """Return a row of classes.csv."""
    own = {"sourcedId": id_, "title": title, "courseSourcedId": "co-1", "classType": "homeroom"}
    return own | {"schoolSourcedId": "org-1", "termSourcedIds": "t-1"}


def a_user(id_: str, given: str, family: str, **more: str) -> dict[str, str]:
    """Return a row of users.csv, with what must never be kept."""
    own = {"sourcedId": id_, "enabledUser": "true", "username": f"{given.lower()}.login", "givenName": given, "familyName": family}
    secret = {"password": "not-to-be-kept", "phone": "+00 000", "email": f"{id_}@example.org", "pronouns": "any", "middleName": "Middle"}
    return own | secret | more


def enrolled(id_: str, user: str, class_id: str = "cl-7", **more: str) -> dict[str, str]:
    """Return a row of enrollments.csv."""
    return {"sourcedId": id_, "classSourcedId": class_id, "schoolSourcedId": "org-1", "userSourcedId": user, "role": "student"} | more


def manifest(**more: str) -> Rows:
    """Return the rows of manifest.csv for the three files, in bulk."""
    said = {"manifest.version": "1.0", "oneroster.version": "1.2"}
    said |= {f"file.{name}": "bulk" if name in ("classes", "users", "enrollments") else "absent" for name in FILES}
    said |= {name.replace("_", "."): value for name, value in more.items()}
    return [{"propertyName": name, "value": value} for name, value in said.items()]


def written(columns: str, rows: Rows) -> bytes:
    """Return rows as a file of the standard: UTF-8, RFC 4180."""
    text = StringIO()
    lines = csv.DictWriter(text, columns.split(","), restval="")
    lines.writeheader()
    lines.writerows(rows)
    return text.getvalue().encode()


def bulk_zip(people: Rows, rolls: Rows, *, rooms: Rows | None = None, about: Rows | None = None, **files: bytes) -> bytes:
    """Return a bulk zip; `files` put other bytes in the place of a file, by its name without the ending."""
    made = {
        "manifest": written("propertyName,value", about or manifest()),
        "classes": written(CLASSES, rooms or [a_class()]),
        "users": written(USERS, people),
        "enrollments": written(ENROLLMENTS, rolls),
    }
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as zipped:
        for name, content in (made | files).items():
            if content:
                zipped.writestr(f"{name}.csv", content)
    return packed.getvalue()
