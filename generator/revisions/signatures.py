"""Git's own signatures of revisions, checked against public keys that stand in the repository.

No secret is handled. The build folder may hold a file `signers`, in the form of git's
`gpg.ssh.allowedSignersFile`; then everybody who has the repository comes to the same answer.
"""

from __future__ import annotations

import re
from pathlib import Path

from buildspec.diagnostics import harmless
from generator.revisions.git import attempt
from generator.revisions.history import Repository, Revision

SIGNERS = "signers"
_GOOD = re.compile(r'^Good "git" signature for (.+) with (\S+ key \S+)', re.MULTILINE)


def signature(repository: Repository, revision: Revision) -> str:
    """What can be said of the revision's signature; "" where it carries none."""
    if not revision.signed:
        return ""
    signers = repository.folder / SIGNERS
    if not signers.is_file():
        return "carries a signature, which this site cannot check: the folder has no file `signers`"
    return _checked(repository, revision, signers)


def _checked(repository: Repository, revision: Revision, signers: Path) -> str:
    settings = ("-c", "gpg.format=ssh", "-c", f"gpg.ssh.allowedSignersFile={signers.resolve()}")
    done = attempt(repository.root, *settings, "verify-tag", revision.tag)
    good = _GOOD.search((done.stderr + done.stdout).decode("utf-8", "replace"))
    if done.returncode == 0 and good:
        return f"signed by {harmless(good[1])}, {harmless(good[2])}, as the file `signers` names"
    return "carries a signature that none of the keys in the file `signers` made"
