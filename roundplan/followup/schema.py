"""Tables of the record, one step of statements for each ``user_version``."""

from __future__ import annotations

from collections.abc import Iterable

_FIRST = (
    "CREATE TABLE inputs (fingerprint TEXT PRIMARY KEY) STRICT",
    """CREATE TABLE input_files (
        fingerprint TEXT NOT NULL REFERENCES inputs (fingerprint),
        name TEXT NOT NULL,
        content BLOB NOT NULL,
        PRIMARY KEY (fingerprint, name)
    ) STRICT""",
    """CREATE TABLE versions (
        id INTEGER PRIMARY KEY,
        number INTEGER NOT NULL CHECK (number >= 1),
        status TEXT NOT NULL CHECK (status IN ('draft', 'announced', 'revised')),
        fingerprint TEXT NOT NULL REFERENCES inputs (fingerprint),
        plan BLOB NOT NULL,
        digest TEXT NOT NULL
    ) STRICT""",
    "CREATE UNIQUE INDEX told_once ON versions (number) WHERE status <> 'draft'",
    """CREATE TABLE contacts (
        version INTEGER NOT NULL REFERENCES versions (id),
        who TEXT NOT NULL,
        phone TEXT NOT NULL,
        email TEXT NOT NULL,
        PRIMARY KEY (version, who)
    ) STRICT""",
    """CREATE TABLE changes (
        id INTEGER PRIMARY KEY,
        made_at TEXT NOT NULL,
        who TEXT NOT NULL CHECK (who <> ''),
        what TEXT NOT NULL,
        why TEXT NOT NULL CHECK (why <> ''),
        version INTEGER NOT NULL REFERENCES versions (id)
    ) STRICT""",
    """CREATE TABLE answers (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        facility TEXT NOT NULL,
        subject TEXT NOT NULL,
        about TEXT NOT NULL,
        word TEXT NOT NULL CHECK (word IN ('yes', 'no', 'replaced by', '')),
        substitute TEXT NOT NULL,
        confirmed_by TEXT NOT NULL,
        confirmed_when TEXT NOT NULL,
        remark TEXT NOT NULL,
        place TEXT NOT NULL,
        UNIQUE (subject, word, substitute, confirmed_by, confirmed_when, remark, change)
    ) STRICT""",
    "CREATE INDEX answers_of ON answers (subject)",
    """CREATE TABLE set_aside (
        answer INTEGER PRIMARY KEY REFERENCES answers (id),
        change INTEGER NOT NULL REFERENCES changes (id)
    ) STRICT""",
)

_NEVER_CHANGED = ("inputs", "input_files", "versions", "changes", "answers", "set_aside", "contacts")
_NEVER_REMOVED = ("inputs", "input_files", "versions", "changes")
"""Replies and contacts are kept as they were given, too, but may be removed on the round's purge date."""


def _guards(never_changed: Iterable[str], never_removed: Iterable[str]) -> tuple[str, ...]:
    refuse = "BEGIN SELECT RAISE(ABORT, 'the record is never overwritten'); END"
    return (
        *(f"CREATE TRIGGER {table}_stay BEFORE UPDATE ON {table} {refuse}" for table in never_changed),
        *(f"CREATE TRIGGER {table}_last BEFORE DELETE ON {table} {refuse}" for table in never_removed),
    )


_FACTS = (
    """CREATE TABLE facts (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        effect TEXT NOT NULL CHECK (effect IN ('row', 'drop')),
        table_name TEXT NOT NULL,
        cells TEXT NOT NULL,
        file TEXT NOT NULL,
        row INTEGER NOT NULL
    ) STRICT""",
    """CREATE TABLE withdrawn (
        fact INTEGER PRIMARY KEY REFERENCES facts (id),
        change INTEGER NOT NULL REFERENCES changes (id)
    ) STRICT""",
    """CREATE TABLE released (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        subject TEXT NOT NULL,
        about TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE proposals (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        version INTEGER NOT NULL REFERENCES versions (id),
        basis TEXT NOT NULL,
        plan BLOB NOT NULL,
        told TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE decisions (
        proposal INTEGER PRIMARY KEY REFERENCES proposals (id),
        change INTEGER NOT NULL REFERENCES changes (id),
        accepted INTEGER NOT NULL CHECK (accepted IN (0, 1)),
        number INTEGER UNIQUE
    ) STRICT""",
    *_guards(
        ("facts", "withdrawn", "released", "proposals", "decisions"),
        ("withdrawn", "released", "decisions"),
    ),
)
"""New facts, seats given free by their owners, proposals of ``replan`` and what was decided about them. Facts and
proposals hold names and may be removed on the round's purge date, never changed."""

_REFUSE = "BEGIN SELECT RAISE(ABORT, 'the record is never overwritten'); END"

_HELD = (
    """CREATE TABLE held (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        session TEXT NOT NULL,
        subject TEXT NOT NULL,
        about TEXT NOT NULL,
        content TEXT NOT NULL,
        place TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX held_of ON held (subject)",
    """CREATE TABLE closings (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id),
        figures TEXT NOT NULL,
        tables TEXT NOT NULL,
        purge_on TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE purges (
        id INTEGER PRIMARY KEY,
        change INTEGER NOT NULL REFERENCES changes (id)
    ) STRICT""",
    *(f"CREATE TRIGGER {table}_stay BEFORE UPDATE ON {table} {_REFUSE}" for table in ("held", "closings", "purges")),
    *(f"CREATE TRIGGER {table}_last BEFORE DELETE ON {table} {_REFUSE}" for table in ("closings", "purges")),
)
"""What was held: statements out of attendance forms, final reports, and when personal data were removed."""

_DOCUMENTS = (
    """CREATE TABLE documents (
        id INTEGER PRIMARY KEY,
        told INTEGER NOT NULL REFERENCES versions (id),
        path TEXT NOT NULL,
        version INTEGER NOT NULL,
        reader TEXT NOT NULL,
        code TEXT NOT NULL,
        source TEXT NOT NULL,
        digest TEXT NOT NULL,
        UNIQUE (path, version)
    ) STRICT""",
    """CREATE TABLE document_contents (
        digest TEXT PRIMARY KEY,
        content BLOB NOT NULL
    ) STRICT""",
    """CREATE TABLE reply_letters (
        facility TEXT PRIMARY KEY,
        letters TEXT NOT NULL UNIQUE
    ) STRICT""",
    """CREATE TABLE reply_numbers (
        facility TEXT NOT NULL REFERENCES reply_letters (facility),
        kind TEXT NOT NULL CHECK (kind IN ('row', 'person')),
        subject TEXT NOT NULL,
        number INTEGER NOT NULL CHECK (number >= 1),
        PRIMARY KEY (facility, kind, subject),
        UNIQUE (facility, kind, number)
    ) STRICT""",
    *_guards(
        ("documents", "document_contents", "reply_letters", "reply_numbers"),
        ("documents", "reply_letters", "reply_numbers"),
    ),
)
"""Each document that readers were told, with the version of its own last change; contents may be removed by a purge."""

STEPS: tuple[tuple[str, ...], ...] = (
    (*_FIRST, *_guards(_NEVER_CHANGED, _NEVER_REMOVED)),
    _FACTS,
    _DOCUMENTS,
    _HELD,
)
"""What brings a record from each ``user_version`` to the next."""
