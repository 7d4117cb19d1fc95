"""unsafe-stock: a material that must not go into that process."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from scantling.judge import Example, Fault, Level
from scantling.plan.model import Plan, Stock
