"""What all tests share: how many examples a property is tried on."""

from __future__ import annotations

import os

from hypothesis import settings

# On a shared machine a third of hypothesis's usual hundred, so that all of it stays within minutes;
# whoever works on a property runs it in full. A test that states its own number keeps that.
settings.register_profile("ci", max_examples=35, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("ci")
