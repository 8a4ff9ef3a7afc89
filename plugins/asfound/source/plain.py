"""The quick way of reading strict YAML: the data of a file about which the reader would have no finding.

Nearly every file is such a one, and the places of its values, which cost most of the time, are then asked for
by nobody. Whatever is unusual is left to the reader; a test holds both together.
"""

from __future__ import annotations

import re
from typing import Any

import yaml
from yaml._yaml import CParser

from .guards import hidden
from .limits import DEPTH, VALUES
from .scalars import Refused, resolve

_REMARK = re.compile(rb"\S +#")  # a comment behind a value
_NEXT = object()  # a map that waits for its next key


def plain(raw: bytes) -> Any | None:
    """The data of a file whose bytes ``guards.decode`` accepts; None when the reader must look at it."""
    if _REMARK.search(raw):
        return None
    try:
        return _data(CParser(raw).get_event)
    except yaml.YAMLError:
        return None


def _data(get: Any) -> Any | None:
    scalar, map_start, list_start = yaml.ScalarEvent, yaml.MappingStartEvent, yaml.SequenceStartEvent
    map_end, list_end = yaml.MappingEndEvent, yaml.SequenceEndEvent
    around: list[tuple[Any, bool]] = []  # what ``here`` lies in, and whether that is a map
    here: Any = None
    in_map, key = False, _NEXT
    done: Any = None
    for _ in range(VALUES):  # events are more than values, so at most as many
        event = get()
        kind = type(event)
        if kind is scalar:
            if here is None or event.anchor is not None or event.tag is not None:
                return None
            value, style = event.value, event.style
            if not style:
                if not value:
                    return None
                value = resolve(value)
                if type(value) is Refused:
                    return None
            elif style == '"' and not (value.isascii() and value.isprintable()) and hidden(value):
                return None
            if not in_map:
                here.append(value)
            elif key is not _NEXT:
                here[key] = value
                key = _NEXT
            elif type(value) is not str or value in here:
                return None
            else:
                key = value
        elif kind is map_end or kind is list_end:
            done = here
            here, in_map = around.pop()
            key = _NEXT
        elif kind is map_start or kind is list_start:
            if event.anchor is not None or event.tag is not None or len(around) >= DEPTH:
                return None
            new: Any = {} if kind is map_start else []
            if not in_map:
                if here is not None:
                    here.append(new)
            elif key is _NEXT:
                return None
            else:
                here[key] = new
            around.append((here, in_map))
            here, in_map, key = new, kind is map_start, _NEXT
        elif kind is yaml.StreamEndEvent:
            return done
        elif kind is yaml.DocumentStartEvent:
            if done is not None or event.version or event.tags:
                return None
        elif kind is yaml.AliasEvent:
            return None
    return None
