"""The built-in rules and the built-in stock table.

One folder a family, one module a rule. The order here is the order of `scantling explain`.
"""

import os

RULES = tuple(
    f"{__name__}.{family}.{rule}"
    for family, rules in {
        "drawing": (
            "nothing_to_make",
            "live_text",
            "unassigned_colour",
            "no_real_size",
            "wrong_size",
            "off_page",
            "bitmap",
            "hidden_lines",
            "paint_only_effect",
            "broken_reference",
            "unreadable_value",
            "idle_acceptance",
        ),
        "lines": (
            "open_path",
            "duplicate_line",
            "score_on_cut",
            "self_crossing",
            "crossing_cuts",
            "ambiguous_outline",
            "stray_fragment",
            "crowded_nodes",
            "inside_last",
        ),
        "features": (
            "thin_web",
            "narrow_gap",
            "small_hole",
            "thin_stroke",
            "double_engraving",
            "blade_engraving",
            "sharp_tip",
            "slender_part",
            "sharp_inside_corner",
        ),
        "parts": ("small_part", "drop_out", "off_sheet", "close_parts", "off_part"),
        "assembly": (
            "unsupported_part",
            "small_bond",
            "wrong_fit",
            "swallowable_part",
            "tactile_lettering",
        ),
        "safety": ("unsafe_stock",),
    }.items()
    for rule in rules
)
STOCKS = os.path.join(os.path.dirname(__file__), "stocks.toml")
