"""What commands there are: their words in the order of the help, and which module answers each."""

from __future__ import annotations

__all__ = ["CONTENTS", "WORDS"]

# Heading, then the words under it: the module that answers, and its help in a sentence, so that
# the whole help is told without loading any command. A test holds both equal to the modules.
CONTENTS: dict[str, dict[str, tuple[str, str]]] = {
    "Begin": {
        "demo": ("demo_commands", "Build an invented stash."),
        "card": ("card_commands", "Reference cards."),
        "settings": ("settings_commands", "Show or change what holds unless told otherwise."),
    },
    "Photograph, and look through the stash": {
        "log": ("photo_commands", "Photograph and log."),
        "scraps": ("scrap_commands", "List scraps: size, colour, value, bin."),
        "fabrics": ("scrap_commands", "List fabrics."),
        "scrap": ("one_scrap_commands", "Look at one scrap, or put some right."),
        "twins": ("twin_commands", "What may be one cloth."),
        "labels": ("label_commands", "Print labels for bins."),
    },
    "Colours": {
        "palette": ("palette_commands", "Palettes."),
        "clash": ("match_commands", "Which fabrics clash with this palette, and why."),
        "own": ("neighbour_commands", "Do I own this already? Nothing is logged."),
        "substitutes": (
            "neighbour_commands", "Which fabrics can stand in for one that ran out.",
        ),
        "tally": (
            "neighbour_commands", "How many fabrics there are of each colour family and value.",
        ),
        "uses": (
            "neighbour_commands",
            "Which palettes and quilts could use this scrap, or each of some.",
        ),
        "goes-with": (
            "neighbour_commands",
            "What goes with these? What echoes their colours, and what they would still want.",
        ),
    },
    "Shapes and quilts": {
        "match": ("match_commands", "Which scraps can go in this quilt."),
        "fit": ("template_commands", "Say which outlines hold a piece of a template."),
        "template": ("template_commands", "Shapes to cut: the library and your own."),
        "quilt": ("quilt_commands", "Quilts."),
    },
    "Nothing is lost": {
        "backup": (
            "safety_commands", "Back the whole stash up, also while it is in use.",
        ),
        "restore": ("safety_commands", "Bring a backup back."),
        "verify": ("safety_commands", "Check database, outlines, photos and backup."),
        "repair": ("safety_commands", "Make a damaged stash sound again."),
        "aside": ("safety_commands", "List what verify --mend, repair or log put aside."),
        "details": (
            "safety_commands",
            "List the kept photos that tell of place, time or device, and take that off.",
        ),
        "export": ("safety_commands", "Write everything as open files."),
        "import": (
            "safety_commands", "Bring an exported folder into a stash that holds nothing yet.",
        ),
        "history": ("safety_commands", "Say what was changed when, newest first."),
        "undo": (
            "safety_commands", "Take back the newest change; again for the one before it.",
        ),
        "redo": ("safety_commands", "Do again what was taken back last."),
        "bin": ("safety_commands", "List deleted scraps."),
    },
    "On a page": {
        "web": ("web_commands", "Open the stash as a page: photograph, look, choose, plan."),
    },
}  # fmt: skip

WORDS = {word: module for words in CONTENTS.values() for word, (module, _) in words.items()}
