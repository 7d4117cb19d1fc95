"""`dataclass` and `NamedTuple` as the standard library has them, but made quickly: for modules
that are imported at every start.

The standard decorator compiles up to six methods for every class, which for the classes of one run
takes as long as importing numpy. Here only `__init__` is compiled, once a class has been called a
few times; methods that are the same for all classes but for the names of the fields share their
code.
What the standard library has to know of a class, its own decorator finds out as soon as somebody
asks, so `fields`, `replace`, `is_dataclass` and pattern matching work as ever, and so do copies and
pickles.

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
    from threading import RLock

    _FIELDS = "__dataclass_fields__"
    """where the standard library keeps what it knows of a data class"""
    _ONE_AT_A_TIME = RLock()

    def dataclass(cls=None, /, *, frozen=False, slots=False, kw_only=False, eq=True):
        """As `dataclasses.dataclass` with these options."""

        def made(cls):
            written = inspect.get_annotations(cls)
            if slots and not _mark(written.values()):
                members = _members(cls, written, kw_only)
                plain = _slotted(cls, [m.name for m in members])
                setattr(plain, _FIELDS, _Late(cls, written, kw_only))
                plain.__match_args__ = tuple(m.name for m in members if m.init and not m.kw_only)
            else:  # the standard decorator knows the rarer cases
                plain = _standard(cls, slots=slots, kw_only=kw_only)
                members = dataclasses.fields(plain)
            key = _values([m.name for m in members if m.compare])
            shown = [m.name for m in members if m.repr]
            own = {
                "__repr__": _repr(shown),
                "__init__": _first(plain, members, frozen),
                "__replace__": _replace,
            }
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

    def _standard(cls, **options):
        return dataclasses.dataclass(init=False, repr=False, eq=False, **options)(cls)

    class _Late:
        """The standard library's fields of a class: made by its decorator when they are first asked
        for, which for most classes of a run is never."""

        def __init__(self, cls, written, kw_only):
            self._cls, self._written, self._kw_only = cls, written, kw_only
            self._made = None

        def __get__(self, instance, owner):
            with _ONE_AT_A_TIME:
                if self._made is None:
                    self._made = self._fields()
                    kind = next(k for k in owner.__mro__ if k.__dict__.get(_FIELDS) is self)
                    kind.__dataclass_params__ = self._cls.__dataclass_params__
                    setattr(kind, _FIELDS, self._made)
            return self._made

        def _fields(self):
            cls = self._cls
            cls.__annotations__ = dict.fromkeys(self._written, object)  # or else it searches them
            fields = getattr(_standard(cls, kw_only=self._kw_only), _FIELDS)
            cls.__annotations__ = self._written
            for name, written in self._written.items():
                fields[name].type = written
            return fields

    class _Member:
        """What is to be known of a field, under the names that `dataclasses.Field` has for it."""

        __slots__ = ("compare", "default", "default_factory", "init", "kw_only", "name", "repr")

        def __init__(self, name, default, kw_only):
            self.name = name
            if isinstance(default, dataclasses.Field):
                for known in ("compare", "default", "default_factory", "init", "repr"):
                    setattr(self, known, getattr(default, known))
                asked = default.kw_only
                self.kw_only = kw_only if asked is dataclasses.MISSING else asked
            else:
                self.default, self.default_factory = default, dataclasses.MISSING
                self.init = self.compare = self.repr = True
                self.kw_only = kw_only

    def _members(cls, written, kw_only):
        """The fields of a class, those of its bases first."""
        found = {}
        for base in cls.__mro__[-1:0:-1]:
            found |= getattr(base, _FIELDS, {})
        for name in written:
            found[name] = _Member(name, cls.__dict__.get(name, dataclasses.MISSING), kw_only)
        return list(found.values())

    def _slotted(cls, names):
        """The class again, with slots for its fields."""
        taken = {slot for base in cls.__mro__[1:] for slot in base.__dict__.get("__slots__", ())}
        space = {
            name: value
            for name, value in cls.__dict__.items()
            if name not in names and name not in ("__dict__", "__weakref__")
        }
        space["__slots__"] = tuple(name for name in names if name not in taken)
        made = type(cls)(cls.__name__, cls.__bases__, space)
        made.__qualname__ = cls.__qualname__
        return made

    def _mark(annotations):
        """Whether any of the annotations may say that this is not a plain field."""
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
            if fields is None:  # Python keeps them elsewhere where they are not text
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

    def _first(cls, members, frozen):
        """`__init__` for the first instances: of most classes a run makes none or a few."""
        asked = [m for m in members if m.init]
        places = [m.name for m in asked if not m.kw_only]
        names = {m.name for m in asked}
        hidden = len(asked) < len(members)
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
            for member in asked:
                name = member.name
                if name in given:
                    value = given[name]
                elif member.default is not dataclasses.MISSING:
                    value = member.default
                elif member.default_factory is not dataclasses.MISSING:
                    value = member.default_factory()
                else:
                    return compiled(self, args, words)
                object.__setattr__(self, name, value)
            if hasattr(cls, "__post_init__"):
                self.__post_init__()
            return None

        def compiled(self, args, words):
            """The rest is made, and what is wrong is told, by the compiled one."""
            cls.__init__ = _init(cls, members, frozen)
            return cls.__init__(self, *args, **words)

        return __init__

    def _init(cls, members, frozen):
        """`__init__`. It sets the slots of a frozen class past its `__setattr__`."""
        space = {"built": _BUILT, "put": object.__setattr__}
        before, after, body = [], [], []
        for member in members:
            name, default, factory = member.name, member.default, member.default_factory
            value = name if member.init else f"of_{name}"
            if factory is not dataclasses.MISSING:
                default = _BUILT
                space[f"make_{name}"] = factory
                value = f"make_{name}() if {value} is built else {value}"
            elif default is dataclasses.MISSING and not member.init:
                continue  # __post_init__ sets it
            if member.init:
                given = after if member.kw_only else before
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

    def _replace(self, /, **changes):
        """For `copy.replace`."""
        return dataclasses.replace(self, **changes)

    def _no_setting(self, name, value):
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")

    def _no_deleting(self, name):
        raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")

    def _set_state(self, state):
        """What pickles and copies hold: the attributes, or a pair of those and the slots."""
        for held in state if isinstance(state, tuple) else (state,):
            for name, value in (held or {}).items():
                object.__setattr__(self, name, value)
