"""Rules and stocks of a wind chime workshop."""

from pathlib import Path

RULES = ("chime_rules.no_hanger", "chime_rules.odd_length")
STOCKS = Path(__file__).with_name("stocks.toml")
