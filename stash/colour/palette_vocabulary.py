"""The words that a palette is said in, besides the colours: tones, sets, amounts, small words.

What a set, a season or an occasion stands for is common practice and has no source.
"""

from __future__ import annotations

import re

from stash.colour.palette import Amount

__all__ = [
    "AMOUNTS",
    "AT_ODDS",
    "BESIDE_A_NOUN",
    "EXTREME_WORDS",
    "NOT",
    "NOUNS",
    "PART_OF_A_WORD",
    "SAME_AS",
    "SETS",
    "SMALL_WORDS",
    "SPELLED",
    "TONE_WORDS",
    "TOUCH_OF",
]


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Spellings that are brought to one before anything is read.
SPELLED = (
    (re.compile(r"\bcolor"), "colour"), (re.compile(r"\bgr[ae]y(?=e?d?s?\b|ish)"), "grey"),
    (re.compile(r"\bmulti colour(?:ed|s)?\b|\bmulti(?:colour)?(?:ed|s)?\b"), "multicolour"),
    (re.compile(r"\bthirties\b|(?<!\d)'?\b30'?s\b|\b1930'?s\b"), "1930s"),
    (re.compile(r"\b(?:polka dots?|tone on tones?)\b"), "print"),
    (re.compile(r"\blow volumes?\b"), "low volume"),
    (re.compile(r"\bpercent\b|\bper cent\b"), "%"),
    (re.compile(r"\brobin'?s egg\b"), "robin's egg"),
    (re.compile(r"\b(?:about|around|roughly|approximately) (?=an? |one |two |half |\d)"), ""),
    (re.compile(r"\b(?:hardly|barely|scarcely) (?:any|an?y? bit of)\b"), "very little"),
    (re.compile(r"\b(?:next to|almost|nearly) no(?:ne)?\b"), "very little"),
    (re.compile(r"\blots and lots of\b"), "lots of"),
    (re.compile(r"\bnot a (?:lot|great deal)(?: of)?\b"), "very little"),
    (re.compile(r"\b(much|little|lot) of it\b"), r"\1"),
    (re.compile(r"\b(?:a|some) (?:little )?bits? of (?:everything|all)\b"), "all colours"),
    (re.compile(r"\b(?:bits|a little|some) of (?:everything|all)\b"), "all colours"),
    (re.compile(r"\brainbow (?=brights?\b|pastels?\b)"), ""), (re.compile(r"\bthrough to\b"), "to"),
    (re.compile(r"\ba very little\b"), "very little"),
    (re.compile(r"\b(?:an? )?(?:very )?(?:small|tiny) (?:amounts?|parts?) of\b"), "a touch of"),
    (re.compile(r"\bsparing(?:ly)? (?=\w)"), "a touch of "),
    (re.compile(r"\b(?:two|three|four|\d) parts (.+?) (?:to|and) (?:one|1|a) part "),
     r"mostly \1, some "),
    # What it is sewn for says nothing of a colour.
    (re.compile(
        r" for (?:an? |the |my |our |his |her )?(?!(?:the )?(?:back|accent|bind|bord|contrast|pop))"
        r"\w+(?: quilt)?(?=[,;.]|$)"
     ), ""),
    (re.compile(r"\b(?:any|some)thing (?!but|except|other|apart|bar|goes|else|too)(?=\w)"), ""),
    (re.compile(r"\b(?:all|both) of (?:them|it)\b|\bkeep (?:it|them|things) (?!to\b)"), ""),
    (re.compile(r"\b(?:quite |rather )a lot\b"), "a lot"),
    (re.compile(r"\b(?:a bit|a little|slightly) less\b"), "less"),
    (re.compile(r"\bon top\b"), ""),
    (
        re.compile(
            r"\b(?:in the )?(?:spirit|style|mood|colours) of (?:the |an? )?"
            r"(\w+(?: \w+)?)(?=[,;.]|$)"
        ),
        r"\1 colours",
    ),
    (re.compile(r"\bno more than (?:a little|a bit of|some)\b"), "very little"),
)  # fmt: skip
SAME_AS = {
    "beige": "tan", "neutral": "neutrals", "violet": "purple",
    "sky": "sky blue", "hunter": "hunter green", "kelly": "kelly green", "royal": "royal blue",
    "forest": "forest green", "butter yellow": "butter", "lemon yellow": "lemon",
    "navy blue": "navy", "peacock": "peacock blue", "robin's egg blue": "robin's egg",
    "multicolour": "all", "rainbow": "all", "anything": "all", "scrappy": "all",
    "everything": "all", "all colours": "all", "every colour": "all", "any colour": "all",
    "anything goes": "all", "fall": "autumn", "autumnal": "autumn",
    "light neutrals": "low volume", "xmas": "christmas", "christmassy": "christmas", "sea": "ocean",
    "nautical": "ocean", "seaside": "beach", "coastal": "beach", "gem": "jewel",
    "gemstone": "jewel", "forest colours": "woodland", "reproduction": "civil war",
    "primitive": "civil war", "sherbet": "pastel", "sorbet": "pastel", "easter": "pastel",
    "ice cream": "pastel", "baby": "pastel", "sugared almond": "pastel", "neon": "bright",
    "summer": "bright", "tropical": "bright", "monochrome": "all", "golden yellow": "gold",
    "icy": "winter", "spice": "spicy", "natural": "neutrals", "patriotic": "flag",
    "offwhite": "off white", "gold leaf": "gold", "turmeric": "mustard", "clotted cream": "cream",
    "summer meadow": "meadow", "wildflower": "meadow", "wild flower": "meadow",
    "cottage garden": "meadow", "woods": "woodland", "wood": "woodland", "autumn wood": "autumn",
    "autumn woods": "autumn", "autumn forest": "autumn", "sea shore": "beach", "seashore": "beach",
}  # fmt: skip
# Words for how light and strong; "" where a word says nothing of that.
TONE_WORDS = {
    "light": "light", "pale": "light", "lighter": "light", "medium": "medium", "mid": "medium",
    "dark": "dark", "deep": "dark", "darker": "dark", "pastel": "pastel", "baby": "pastel",
    "muted": "muted", "dusty": "muted", "soft": "muted", "faded": "muted", "dull": "muted",
    "greyed": "muted", "greyish": "muted", "smoky": "muted", "washed out": "muted",
    "subtle": "muted", "quiet": "muted", "subdued": "muted", "bright": "bright",
    "vivid": "bright", "clear": "bright", "bold": "bright", "strong": "bright", "loud": "bright",
    "neon": "bright", "vibrant": "bright", "saturated": "bright", "brilliant": "bright",
    "hot": "bright", "electric": "bright", "cheerful": "bright", "happy": "bright",
    "sunny": "bright", "rich": "jewel", "jewel": "jewel", "earthy": "earth", "warm": "",
    "cool": "", "true": "", "icy": "light", "moody": "dark", "inky": "dark", "stormy": "muted",
    "dusky": "muted", "misty": "muted", "hazy": "muted", "softer": "muted", "paler": "light",
    "deeper": "dark", "brighter": "bright", "bolder": "bright", "duller": "muted",
    "antique": "muted", "gentle": "muted", "delicate": "light", "punchy": "bright",
    "zingy": "bright",
}  # fmt: skip
# These make a colour of its own with what follows where the table of words has it: hot pink.
PART_OF_A_WORD = frozenset(["hot", "baby", "sunny", "icy", "electric", "neon"])
HUES = ("pink", "red", "orange", "gold", "yellow", "green", "teal", "blue", "purple")
# What a set stands for: a tone and families.
SETS: dict[str, tuple[str, tuple[str, ...]]] = {
    "pastel": ("pastel", HUES),
    "bright": ("bright", HUES),
    "jewel": ("jewel", ("pink", "red", "green", "teal", "blue", "purple", "gold")),
    "earth": ("earth", ("brown", "tan", "olive", "gold", "orange", "red", "green")),
    "muted": ("muted", (*HUES, "brown", "olive")),
    "dark": ("dark", (*HUES, "brown", "olive", "black")),
    "light": ("light", (*HUES, "white", "cream")),
    "medium": ("medium", (*HUES, "brown", "olive")),
    "warm": ("", ("pink", "red", "orange", "gold", "yellow", "brown")),
    "cool": ("", ("green", "teal", "blue", "purple")),
    "autumn": ("earth", ("brown", "olive", "gold", "orange", "red")),
    "spring": ("light", ("pink", "yellow", "green", "blue", "purple")),
    "winter": ("", ("white", "grey", "blue", "teal")),
    "low volume": ("light", ("white", "cream", "grey", "tan")),
    "1930s": ("pastel", HUES),
    "civil war": ("muted", ("brown", "red", "blue", "tan", "olive", "gold", "pink")),
    "christmas": ("", ("red", "green", "white", "gold")),
    "halloween": ("", ("orange", "black", "purple")),
    "flag": ("", ("red", "white", "blue")),
    "primary": ("bright", ("red", "yellow", "blue")),
    "ocean": ("", ("blue", "teal", "white")),
    "beach": ("", ("blue", "teal", "tan", "cream", "white")),
    "woodland": ("", ("green", "olive", "brown")),
    "meadow": ("", ("green", "yellow", "pink", "purple", "blue", "white")),
    "sunset": ("", ("orange", "pink", "red", "purple", "gold")),
    "citrus": ("bright", ("orange", "yellow", "green")),
    "berry": ("", ("red", "pink", "purple")),
    "spicy": ("earth", ("red", "orange", "gold", "brown")),
    "desert": ("earth", ("tan", "orange", "brown", "gold", "red")),
    "candy": ("", ("pink", "purple", "yellow", "teal")),
    "metallic": ("", ("gold", "grey", "brown")),
    "all": ("", (*HUES, "brown", "olive", "white", "cream", "tan", "grey", "black")),
}
# What is said beside a colour and says nothing of it.
NOUNS = _words(
    "tone colour shade hue one print fabric floral flower solid batik stripe plaid check gingham "
    "dot spot blender background wovens woven cotton scrap cloth reproduction novelty calico "
    "palette tint range family quilt theme scheme combination spectrum stuff value homespun "
    "flannel shirting chambray toile ticking paisley leaf batting trim star pattern ground "
    "background binding leaves coloured jam wedding nursery"
)
BESIDE_A_NOUN = _words(
    "please just only really very quite rather fairly pretty mainly different various assorted "
    "several few more lovely pure plain traditional modern vintage retro old fashioned classic "
    "country style style's monochromatic monochrome simple nice small large tiny big favourite "
    "favorite kind sort other two three four five maybe perhaps too also else then both kinds "
    "sorts scrappy overall over together feel look multi otherwise"
)
SMALL_WORDS = _words(
    "a an the of all every any each some my our with in for it its i i'd i'll we we'd like want "
    "love would use using make made something is are be should that have has there at is"
)
TOUCH_OF = re.compile(
    r"(?:just |only |maybe |perhaps )*(?:an? |the |one |two |a few |few |some )?"
    r"(?:odd |merest |faintest |barest |tiny |little |small |wee |slight |teeny |bright |bold )*"
    r"(?:touch|bit|hint|pop|splash|dash|spark|sparkle|accent|pinch|sprinkle|sprinkling|drop|flash|dab"
    r"|spot|whisper|trace|smidgen|smidge|highlight|glimpse|suggestion|speck|fleck|dollop|zing|hit)(?:e?s)?"
    r" (?:of|in) "
)
AMOUNTS = {
    "mostly": Amount.MAIN, "mainly": Amount.MAIN, "lots of": Amount.MAIN, "lots": Amount.MAIN,
    "a lot of": Amount.MAIN, "a whole lot of": Amount.MAIN, "a great deal of": Amount.MAIN,
    "tons of": Amount.MAIN, "heaps of": Amount.MAIN, "masses of": Amount.MAIN,
    "the rest": Amount.MAIN, "the rest in": Amount.MAIN, "equal parts": Amount.MAIN,
    "equal amounts of": Amount.MAIN, "the occasional": Amount.TOUCH, "occasional": Amount.TOUCH,
    "loads of": Amount.MAIN, "plenty of": Amount.MAIN,
    "primarily": Amount.MAIN, "predominantly": Amount.MAIN, "chiefly": Amount.MAIN,
    "largely": Amount.MAIN, "heavy on": Amount.MAIN, "heavy on the": Amount.MAIN,
    "most of it": Amount.MAIN, "the main colour": Amount.MAIN, "the main": Amount.MAIN,
    "two thirds": Amount.MAIN, "three quarters": Amount.MAIN, "half": Amount.MAIN,
    "one half": Amount.MAIN, "more": Amount.MAIN, "some": Amount.SOME, "less": Amount.SOME,
    "fewer": Amount.SOME, "a few": Amount.SOME, "a little": Amount.SOME, "a third": Amount.SOME,
    "one third": Amount.SOME, "one quarter": Amount.SOME, "a quarter": Amount.SOME,
    "one fifth": Amount.SOME, "a fifth": Amount.SOME, "a tenth": Amount.TOUCH,
    "one tenth": Amount.TOUCH, "very little": Amount.TOUCH,
    "very few": Amount.TOUCH, "few": Amount.TOUCH, "not much": Amount.TOUCH,
    "not too much": Amount.TOUCH, "a tiny amount of": Amount.TOUCH, "for accent": Amount.TOUCH,
    "for accents": Amount.TOUCH, "for a pop": Amount.TOUCH, "as an accent": Amount.TOUCH,
    "as accents": Amount.TOUCH, "as accent": Amount.TOUCH, "accents": Amount.TOUCH,
    "accent": Amount.TOUCH, "pops": Amount.TOUCH, "touches": Amount.TOUCH,
    "highlights": Amount.TOUCH, "as the main colour": Amount.MAIN, "as main colour": Amount.MAIN,
    "as the main": Amount.MAIN, "for the most part": Amount.MAIN, "here and there": Amount.TOUCH,
    "now and then": Amount.TOUCH, "as a background": Amount.MAIN, "as background": Amount.MAIN,
    "for the background": Amount.MAIN, "as the background": Amount.MAIN,
}  # fmt: skip
NOT = (
    "nothing", "without any", "without", "not any", "not", "no", "avoid", "avoiding", "except for",
    "except", "never", "minus", "apart from", "other than", "leave out", "skip", "zero", "none",
    "definitely no", "absolutely no", "but no", "and no",
)  # fmt: skip
EXTREME_WORDS = {
    "dark": "dark", "deep": "dark", "light": "light", "pale": "light", "bright": "bright",
    "loud": "bright", "vivid": "bright", "strong": "bright", "bold": "bright", "neon": "bright",
    "garish": "bright", "brash": "bright", "gaudy": "bright",
}  # fmt: skip
AT_ODDS = (
    {"pastel", "dark"}, {"pastel", "jewel"}, {"jewel", "light"}, {"bright", "muted"},
    {"light", "dark"}, {"pastel", "bright"},
)  # fmt: skip
