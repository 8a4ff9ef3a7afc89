"""What is known of a car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a car; whatever is left out is unknown.

    ``lines``, ``models``, ``phases`` and ``markets`` are the ones it may still be (None: any). ``built`` is
    an ISO 8601 month. ``equipment`` says for an item whether the car has it. ``software`` and ``parts`` are
    by module, ``records`` by module/record, ``settings`` (in words) by module/record/setting.
    """

    lines: frozenset[str] | None = None
    models: frozenset[str] | None = None
    phases: frozenset[str] | None = None
    markets: frozenset[str] | None = None
    built: str | None = None
    equipment: Mapping[str, bool] = field(default_factory=dict)
    software: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)
    records: Mapping[str, bytes] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of_variant(cls, line: str, model: str, phase: str) -> Known:
        """A car of which line, model and phase are known, and nothing else."""
        return cls(frozenset((line,)), frozenset((model,)), frozenset((phase,)))

    def __hash__(self) -> int:
        # Mappings have no hash of their own; caches need one. Most are empty.
        maps = (self.equipment, self.software, self.parts, self.records, self.settings)
        said = [frozenset(m.items()) for m in maps if m]
        return hash((self.lines, self.models, self.phases, self.markets, self.built, *said))
