"""`blake2b` of the standard library, without loading the library of ciphers that `hashlib` stands
on: the function itself does not need it."""

try:
    from _blake2 import blake2b as blake2b
except ImportError:  # an interpreter that keeps it elsewhere
    from hashlib import blake2b as blake2b
