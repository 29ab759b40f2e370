"""Git's own signatures of revisions, checked against public keys that stand in the repository.

No secret is handled. The build folder may hold a file `signers`, in the form of git's
`gpg.ssh.allowedSignersFile`; then everybody who has the repository comes to the same answer.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from buildspec.diagnostics import harmless
from generator.revisions.git import attempt
from generator.revisions.history import Repository, Revision

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
    """What can be said of the revision's signature; "" where it carries none."""
    if not revision.signed:
        return ""
    if signers is None:
        return "carries a signature, which this site cannot check: there is no file `signers`"
    with tempfile.TemporaryDirectory(prefix="marginbook-") as scratch:
        path = Path(scratch) / SIGNERS
        path.write_bytes(signers)
        settings = ("-c", "gpg.format=ssh", "-c", f"gpg.ssh.allowedSignersFile={path}")
        done = attempt(repository.root, *settings, "verify-tag", revision.tag)
    good = _GOOD.search((done.stderr + done.stdout).decode("utf-8", "replace"))
    if done.returncode == 0 and good:
        return f"is signed by {harmless(good[1])}, {harmless(good[2])}, as the file `signers` names"
    return "carries a signature that none of the keys in the file `signers` made"
