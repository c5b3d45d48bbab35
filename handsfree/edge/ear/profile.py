"""What is kept of a person's voice and microphone: a few figures in the user's own settings."""

from __future__ import annotations

import json
import os
from dataclasses import asdict
from pathlib import Path

from handsfree.edge.ear.enrolment import Profile
from handsfree.errors import DeviceError

__all__ = ["SETTING", "keep", "kept", "place"]

SETTING = "HANDSFREE_VOICE"
_WIDEST = 60.0
"""Decibels of gain, and nats of fit, that a file may hold: more is no figure of ours."""


def place() -> Path:
    """Return the file: `HANDSFREE_VOICE`, or the platform's place for a user's settings."""
    chosen = os.environ.get(SETTING)
    if chosen:
        return Path(chosen).expanduser()
    import platformdirs  # noqa: PLC0415 - only where the setting is not made

    return platformdirs.user_config_path("handsfree") / "voice.json"


def kept() -> Profile:
    """Return what was kept; the usual where nothing was. Raises `DeviceError` for a broken file."""
    try:
        text = place().read_text(encoding="utf-8")
    except FileNotFoundError:
        return Profile()
    except (OSError, UnicodeDecodeError) as error:
        raise _broken() from error
    try:
        found = json.loads(text)
        gain, fit = float(found["gain"]), float(found["fit"])
    except (ValueError, TypeError, KeyError) as error:
        raise _broken() from error
    if not (abs(gain) <= _WIDEST and -_WIDEST <= fit < 0):
        raise _broken()
    return Profile(gain, fit)


def _broken() -> DeviceError:
    return DeviceError(
        f"What I kept of your voice cannot be read. Delete {place()}, or read the sentences again: "
        "handsfree check --voice"
    )


def keep(profile: Profile) -> Path:
    """Keep a profile, and return where; raises `DeviceError` where it cannot be written."""
    file = place()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        beside = file.with_suffix(".new")
        beside.write_text(json.dumps(asdict(profile)) + "\n", encoding="utf-8")
        beside.replace(file)
    except OSError as error:
        raise DeviceError(f"{file} cannot be written: {error.strerror}.") from error
    return file
