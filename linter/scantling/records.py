"""`dataclass` and `NamedTuple` as the standard library has them, but made quickly: for modules
that are imported at every start.

The standard decorator compiles up to six methods for every class, which for the classes of one run
takes as long as importing numpy. Here only `__init__` is compiled, once a class has been called a
few times; methods that are the same for all classes but for the names of the fields share their
code.
Fields are found, and slots are made, by the standard decorator, so `fields`, `replace`,
`is_dataclass` and pattern matching work as ever, and so do copies and pickles.

The standard `NamedTuple` reads the annotation of every field. Here they are left as they are
written. To type checkers both are the standard ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
    from typing import NamedTuple as NamedTuple
else:
    import dataclasses
    import inspect
    import types
    import typing
    from collections import namedtuple
    from operator import attrgetter

    def dataclass(cls=None, /, *, frozen=False, slots=False, kw_only=False, eq=True):
        """As `dataclasses.dataclass` with these options."""

        def made(cls):
            written = inspect.get_annotations(cls)
            plainly = not _mark(written.values())
            if plainly:  # or else the standard decorator searches the text of each for markers
                cls.__annotations__ = dict.fromkeys(written, object)
            plain = dataclasses.dataclass(
                init=False, repr=False, eq=False, slots=slots, kw_only=kw_only
            )(cls)
            members = dataclasses.fields(plain)
            if plainly:
                plain.__annotations__ = written
                for member in members:
                    member.type = written.get(member.name, member.type)
            key = _values([f.name for f in members if f.compare])
            shown = [f.name for f in members if f.repr]
            own = {"__repr__": _repr(shown), "__init__": _first(plain, frozen)}
            if eq:
                own |= {"__eq__": _eq(key), "__hash__": _hash(key) if frozen else None}
            if frozen:
                own |= {
                    "__setattr__": _no_setting,
                    "__delattr__": _no_deleting,
                    "__setstate__": _set_state,
                }
            for name, method in own.items():
                if name not in cls.__dict__:
                    setattr(plain, name, method)
            return plain

        return made if cls is None else made(cls)

    def _mark(annotations):
        """Whether any of the annotations may say that this is no plain field."""
        if not all(isinstance(a, str) for a in annotations):
            return True
        text = " ".join(annotations)
        return "ClassVar" in text or "InitVar" in text or "KW_ONLY" in text

    class _Named(type):
        """Makes a named tuple of a class body."""

        def __new__(meta, name, bases, body):
            if bases == ():
                return super().__new__(meta, name, bases, body)
            fields = body.get("__annotations__")
            if fields is None:  # Python keeps them elsewhere where they are no text
                return types.new_class(
                    name, (typing.NamedTuple,), exec_body=lambda space: space.update(body)
                )
            made = namedtuple(
                name,
                fields,
                defaults=[body[field] for field in fields if field in body],
                module=body["__module__"],
            )
            made.__annotations__ = fields
            for key, value in body.items():
                if key not in fields and key not in ("__annotations__", "__module__"):
                    setattr(made, key, value)
            return made

    class NamedTuple(metaclass=_Named):
        """As `typing.NamedTuple`, subclassed alone."""

    _BUILT = object()
    """Stands for the value of a default factory until it is asked."""

    _FEW = 12
    """Instances that are made before it pays to compile `__init__`."""

    def _first(cls, frozen):
        """`__init__` for the first instances: of most classes a run makes none or a few."""
        members = [f for f in dataclasses.fields(cls) if f.init]
        places = [f.name for f in members if not f.kw_only]
        names = {f.name for f in members}
        hidden = any(not f.init for f in dataclasses.fields(cls))
        made = 0

        def __init__(self, *args, **words):
            nonlocal made
            made += 1
            given = dict(zip(places, args, strict=False))
            if (
                made > _FEW
                or hidden
                or len(args) > len(places)
                or not given.keys().isdisjoint(words)
                or not names.issuperset(words)
            ):
                return compiled(self, args, words)
            given |= words
            for field in members:
                name = field.name
                if name in given:
                    value = given[name]
                elif field.default is not dataclasses.MISSING:
                    value = field.default
                elif field.default_factory is not dataclasses.MISSING:
                    value = field.default_factory()
                else:
                    return compiled(self, args, words)
                object.__setattr__(self, name, value)
            if hasattr(cls, "__post_init__"):
                self.__post_init__()
            return None

        def compiled(self, args, words):
            """The rest is made, and what is wrong is told, by the compiled one."""
            cls.__init__ = _init(cls, frozen)
            return cls.__init__(self, *args, **words)

        return __init__

    def _init(cls, frozen):
        """`__init__`. It sets the slots of a frozen class past its `__setattr__`."""
        space = {"built": _BUILT, "put": object.__setattr__}
        before, after, body = [], [], []
        for field in dataclasses.fields(cls):
            name, default, factory = field.name, field.default, field.default_factory
            value = name if field.init else f"of_{name}"
            if factory is not dataclasses.MISSING:
                default = _BUILT
                space[f"make_{name}"] = factory
                value = f"make_{name}() if {value} is built else {value}"
            elif default is dataclasses.MISSING and not field.init:
                continue  # __post_init__ sets it
            if field.init:
                given = after if field.kw_only else before
                given.append(name if default is dataclasses.MISSING else f"{name}=of_{name}")
            space[f"of_{name}"] = default
            body.append(f"put(self, {name!r}, {value})" if frozen else f"self.{name} = {value}")
        if hasattr(cls, "__post_init__"):
            body.append("self.__post_init__()")
        given = ", ".join(["self", *before, *(["*"] if after else []), *after])
        exec(f"def __init__({given}):\n " + "\n ".join(body or ["pass"]), space)
        method = space["__init__"]
        method.__qualname__ = f"{cls.__qualname__}.__init__"
        method.__module__ = cls.__module__
        return method

    def _values(names):
        """What compares: the values of the named fields, as a tuple."""
        if len(names) > 1:
            return attrgetter(*names)
        return lambda self: tuple(getattr(self, name) for name in names)

    def _eq(key):
        def __eq__(self, other):
            return key(self) == key(other) if other.__class__ is self.__class__ else NotImplemented

        return __eq__

    def _hash(key):
        def __hash__(self):
            return hash(key(self))

        return __hash__

    def _repr(names):
        def __repr__(self):
            said = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
            return f"{self.__class__.__qualname__}({said})"

        return __repr__

    def _no_setting(self, name, value):
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")

    def _no_deleting(self, name):
        raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")

    def _set_state(self, state):
        """What pickles and copies hold: the attributes, or a pair of those and the slots."""
        for held in state if isinstance(state, tuple) else (state,):
            for name, value in (held or {}).items():
                object.__setattr__(self, name, value)
