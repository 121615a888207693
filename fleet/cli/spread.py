"""Shared options as one object: a command asks for `where: Where`, Typer sees its fields."""

import inspect
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any, get_type_hints


def spread(command: Callable[..., None]) -> Callable[..., None]:
    """A function that takes the fields of every dataclass parameter of `command` as options of
    their own, and hands `command` the dataclass.
    """
    hints = get_type_hints(command, include_extras=True)
    plain: dict[str, inspect.Parameter] = {}
    groups: dict[str, tuple[type, list[str]]] = {}
    for parameter in inspect.signature(command).parameters.values():
        kind = hints[parameter.name]
        if not (isinstance(kind, type) and is_dataclass(kind)):
            plain[parameter.name] = parameter.replace(
                annotation=kind, kind=inspect.Parameter.KEYWORD_ONLY
            )
            continue
        inner = get_type_hints(kind, include_extras=True)
        groups[parameter.name] = (kind, [field.name for field in fields(kind)])
        for field in fields(kind):
            plain[field.name] = inspect.Parameter(
                field.name,
                inspect.Parameter.KEYWORD_ONLY,
                default=field.default,
                annotation=inner[field.name],
            )

    def run(**given: Any) -> None:  # noqa: ANN401 - whatever the command's options are
        joined = {
            name: kind(**{field: given.pop(field) for field in names})
            for name, (kind, names) in groups.items()
        }
        command(**given, **joined)

    run.__doc__ = command.__doc__
    run.__name__ = command.__name__
    run.__annotations__ = {name: parameter.annotation for name, parameter in plain.items()}
    run.__dict__["__signature__"] = inspect.Signature(list(plain.values()))
    return run
