"""What a tablet holds and what it makes of it, in two hashes: two tablets that are in step have the same."""

import hashlib
import json
from dataclasses import asdict, dataclass
from typing import Any

from mobile.store import Store
from shared_schema.fold import Finding
from shared_schema.ids import Heads

__all__ = ["Digest", "digest_of"]


@dataclass(frozen=True, slots=True)
class Digest:
    """Heads, how many entries and findings there are, and the SHA-256 of all raw lines and of all folded findings."""

    heads: Heads
    entries: int
    lines: str
    findings: int
    folded: str

    def as_json(self) -> str:
        """One line of JSON, keys in order."""
        return json.dumps(asdict(self), sort_keys=True)


def digest_of(store: Store) -> Digest:
    """Read and fold everything: seconds for a large record."""
    lines, folded = hashlib.sha256(), hashlib.sha256()
    entries = findings = 0
    for line in store.every_line():
        entries += 1
        lines.update(line + b"\n")
    for finding in store.every_finding():
        findings += 1
        folded.update(json.dumps(_plain(finding), sort_keys=True, separators=(",", ":")).encode() + b"\n")
    return Digest(store.heads(), entries, lines.hexdigest(), findings, folded.hexdigest())


def _plain(finding: Finding) -> dict[str, Any]:
    slots = {name: [slot.value, slot.heads, slot.disputed, slot.ruled] for name, slot in sorted(finding.slots.items())}
    return {
        "survey": finding.survey,
        "subject": finding.subject,
        "slots": slots,
        "missing": finding.missing,
        "idle": finding.idle,
    }
