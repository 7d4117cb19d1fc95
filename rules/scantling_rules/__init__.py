"""The built-in rules and the built-in stock table."""

from pathlib import Path

RULES: tuple[str, ...] = ()
STOCKS = Path(__file__).with_name("stocks.toml")
