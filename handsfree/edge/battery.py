"""What is left in the battery of this machine."""

from __future__ import annotations


def percent() -> float | None:
    """Return the charge, 0 to 100; None without a battery, on the mains, or where none can tell."""
    try:
        import psutil  # noqa: PLC0415 - read once a minute, and not for a single question

        found = psutil.sensors_battery()
    except (AttributeError, ImportError, OSError, RuntimeError):
        return None  # not every system can tell
    return None if found is None or found.power_plugged else float(found.percent)
