"""Git's own signatures of revisions, checked against public keys that stand in the repository.

No secret is handled. The build folder may hold a file `signers`, in the form of git's
`gpg.ssh.allowedSignersFile`; then everybody who has the repository comes to the same answer.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from buildspec.diagnostics import harmless
from generator.revisions.git import attempt
from generator.revisions.history import Repository, Revision
from generator.signoffs.sign import FILE

SIGNERS = "signers"
_GOOD = re.compile(r'^Good "git" signature for (.+) with (\S+ key \S+)', re.MULTILINE)


def signers_of(repository: Repository, tree: str = "") -> bytes | None:
    """The public keys as they stand in a tree of the build folder, or in the folder as it is."""
    if tree:
        done = attempt(repository.root, "cat-file", "blob", f"{tree}:{SIGNERS}")
        return None if done.returncode else done.stdout
    path = repository.folder / SIGNERS
    return path.read_bytes() if path.is_file() else None


def signature(repository: Repository, revision: Revision, signers: bytes | None) -> str:
    """What can be said of the signature of a revision's tag, or of its commit; "" where neither
    carries one.
    """
    if not revision.signed:
        said = commit_signature(repository, revision.commit, signers)
        return f"has an unsigned tag; its commit {said}" if said else ""
    if not _by_ssh(attempt(repository.root, "cat-file", "tag", revision.tag).stdout):
        return OTHER
    if signers is None:
        return UNKNOWN
    with _asking(signers) as settings:
        done = attempt(repository.root, *settings, "verify-tag", revision.tag)
    good = _GOOD.search((done.stderr + done.stdout).decode("utf-8", "replace"))
    return _good(good[1], good[2]) if done.returncode == 0 and good else STRANGE


def commit_signature(repository: Repository, commit: str, signers: bytes | None) -> str:
    """What can be said of the signature of a commit; "" where it carries none, or where there are
    no keys to hold it against.
    """
    if signers is None:
        return ""
    head = attempt(repository.root, "cat-file", "commit", commit).stdout.partition(b"\n\n")[0]
    if b"\ngpgsig" in head and not _by_ssh(head):
        return OTHER
    with _asking(signers) as settings:
        done = attempt(repository.root, *settings, "log", "-1", f"--format={_ASKED}", commit, "--")
    state, who, key = [*done.stdout.decode("utf-8", "replace").rstrip("\n").split("\0"), "", ""][:3]
    if state == "G":
        return _good(who, f"key {key}")
    return "" if state in {"N", ""} else STRANGE


def _by_ssh(signed: bytes) -> bool:
    """Whether a signature that a tag or the head of a commit carries is one of an SSH key."""
    return b"-----BEGIN SSH SIGNATURE-----" in signed


def recording_commit(repository: Repository, record: str, until: str) -> str:
    """The commit that first held a record of `signoffs.yaml`, up to the commit `until`; "" for none."""
    line = rf"^[ -]*id: {re.escape(record)}$"
    asked = ("log", "--format=%H", "--extended-regexp", "-G", line, until or "HEAD", "--", FILE)
    done = attempt(repository.folder, *asked)
    found = done.stdout.decode("ascii", "replace").split()
    return found[-1] if done.returncode == 0 and found else ""


UNKNOWN = "carries a signature, which this site cannot check: there is no file `signers`"
STRANGE = "carries a signature that none of the keys in the file `signers` made"
OTHER = (
    "carries a signature of another kind than SSH, such as OpenPGP; whether it is good depends on the keys "
    "of the machine that looks, and is not checked here"
)
_NOBODY = "marginbook-runs-no-such-program"
"""In place of the programs for other signatures: they would ask the keys of whoever builds the site."""
_ASKED = "%G?%x00%GS%x00%GK"
"""Of git's own words: the state, who signed, and with which key."""


def _good(who: str, key: str) -> str:
    return f"is signed by {harmless(who)}, {harmless(key)}, as the file `signers` names"


@contextmanager
def _asking(signers: bytes) -> Iterator[tuple[str, ...]]:
    """What makes git hold signatures against these keys, and against no others."""
    with tempfile.TemporaryDirectory(prefix="marginbook-") as scratch:
        path = Path(scratch) / SIGNERS
        path.write_bytes(signers)
        others = (f"gpg.{kind}.program={_NOBODY}" for kind in ("openpgp", "x509"))
        settings = ("gpg.format=ssh", f"gpg.ssh.allowedSignersFile={path}", *others)
        yield tuple(word for setting in settings for word in ("-c", setting))
