"""Writes metrics in the open exposition format. Source: OpenMetrics 1.0.0, section "Text format"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

MEDIA_TYPE: Final = "application/openmetrics-text; version=1.0.0; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Sample:
    """One value: the ending of its name (such as _total), its labels, and itself."""

    ending: str
    labels: Mapping[str, str]
    value: float


@dataclass(frozen=True, slots=True)
class Family:
    """A metric with all its samples; `kind` is a type of the standard: counter, gauge, histogram or info."""

    name: str
    kind: str
    help: str
    samples: tuple[Sample, ...]


def gauge(name: str, help_text: str, value: float) -> Family:
    """Return a metric with one value that goes up and down."""
    return Family(name, "gauge", help_text, (Sample("", {}, value),))


def write(families: Iterable[Family]) -> str:
    """Return the text of some metrics."""
    lines = []
    for family in families:
        lines += [f"# TYPE {family.name} {family.kind}", f"# HELP {family.name} {_escaped(family.help)}"]
        lines += [f"{family.name}{sample.ending}{_labels(sample.labels)} {_number(sample.value)}" for sample in family.samples]
    return "\n".join((*lines, "# EOF", ""))


def bound(value: float) -> str:
    """Return a bound as the label `le` writes it: a canonical number, +Inf for infinity."""
    return "+Inf" if value == float("inf") else repr(float(value))


def _labels(labels: Mapping[str, str]) -> str:
    inside = ",".join(f'{name}="{_escaped(value)}"' for name, value in labels.items())
    return f"{{{inside}}}" if inside else ""


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")


def _number(value: float) -> str:
    return str(value) if isinstance(value, int) else repr(value)
