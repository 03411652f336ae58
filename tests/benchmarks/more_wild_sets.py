"""More sets of judged cloth, with a wild one or none: truths of our own, written before asking.

``python -m tests.benchmarks.more_wild_sets``. The pictures are those of
``shared/data/judged_cloth`` beside the checkout. The measure
of company was mended looking at both lists, after each had been asked once: what they came to then
stands in docs/measurements.md.
"""

from __future__ import annotations

import json

from stash.colour.fabric_table import FabricColours
from stash.colour.wild_one import keep_company
from tests.benchmarks.judged_cloth import looks_of
from tests.shared_data import shared

# What it is about, the cloths, the wild one.
FIRST = (
    ("navy quilt, neon", "p02 p05 p27 f072 f015 f036 p30", "p30"),
    ("pastels, red tartan", "c007 p12 p37 p33 p26 c002 f032 f054", "f054"),
    ("browns, turquoise", "f053 f041 f025 f044 c008 f011 c016 f017", "f017"),
    ("greys whites, cheddar", "f034 f036 rbx f019 p36 f032 p10", "p10"),
    ("reds and creams, lime", "f054 f055 f067 p43 p08 ph f033", "f033"),
    ("greens, bright orange", "f047 p25 f018 f078 p24 f014 f068", "f068"),
    ("cream low volume, sunset batik", "p08 p17 p24 p37 p36 f044 p15", "p15"),
    ("blues", "p44 f038 f071 c002 f069 f077 f080", "f080"),
    ("earth, royal blue", "f011 f044 c016 c011 c015 f053 f025 f059", "f059"),
    ("teal aqua white, neon stripe", "p18 p33 f017 c007 f019 p36 p30", "p30"),
    ("blues and whites", "p02 p05 f015 f072 p44 f038 c002 f019", ""),
    ("reds and creams", "f054 f055 f067 p43 ph p08 p17 f009", ""),
    ("browns and tans", "f053 f041 f025 f044 c008 f011 c016 p39", ""),
    ("greens all values", "f047 p25 f018 f078 p24 f014 f070 c007", ""),
    ("pastels", "c007 p12 p37 p33 p26 c002 f032 p36", ""),
    ("low volume", "p08 p17 p24 p37 p36 f044 f036 f019", ""),
    ("scrappy everything", "f054 f047 f059 p10 p12 p18 f041 p32 f034 p15", ""),
    ("autumn", "c015 c011 f053 p32 f025 p10 f009 f018", ""),
    ("red white blue", "f055 f067 p28 p02 f015 f057 f019 p43", ""),
    ("navy, gold, grey", "p27 p32 f072 f034 f036 f015 p41 rbx", ""),
)
SECOND = (
    ("dark blues and greens, white", "p02 f047 p25 godot f069 f015 f019", "f019"),
    ("creams with pinkish whites, black-lime", "f032 f044 p24 p36 p17 f019 p08 p30", "p30"),
    ("teals and aquas, rust", "f017 p18 p33 c007 f077 c002 c015", "c015"),
    ("golds and browns", "p32 c011 f025 c016 f053 f011 f024", "f024"),
    ("navy golds, hot red gingham", "p27 p05 f072 p32 c011 f015 f055", "f055"),
    ("soft greens and creams, bright blue", "f078 p24 c016 f044 f018 p08 f036 f059", "f059"),
    ("grey flannels, red check", "f034 rbx f036 f077 p41 f019 ph", "ph"),
    ("reds maroons, turquoise", "f009 f054 f080 p43 f055 p28 f017", "f017"),
    ("blues all", "f059 f038 godot f069 p02 p44 c002 f071", ""),
    ("blue and green", "f059 f047 p25 p26 f018 f038 p44 p18", ""),
    ("cream and green", "p24 f078 c007 p08 f044 f018 f047", ""),
    ("orange brown", "p10 c015 f068 f053 f041 f025 c008", ""),
    ("red cream blue", "f054 p43 p44 p02 f055 p28 p08", ""),
    ("grey white black", "f034 rbx f036 f019 p36 p17 f077", ""),
    ("scrappy brights", "f033 f059 p10 f017 f055 p32 f068 f024 p15", ""),
    ("sand teal", "f044 c016 f017 p18 p33 c008 f077", ""),
)


def main() -> None:
    """Print how many wild ones are found, and how many peaceful sets are accused."""
    folder = shared("data/judged_cloth")
    looks = looks_of(json.loads((folder / "judged.json").read_text()), folder)
    for name, sets in (("first", FIRST), ("second", SECOND)):
        found = accused = 0
        for about, said, wild in sets:
            cloths = said.split()
            odd = keep_company([FabricColours(at, looks[one]) for at, one in enumerate(cloths)])
            first = cloths[odd[0].fabric] if odd else ""
            found += bool(wild) and first == wild
            accused += not wild and bool(first)
            if first != wild:
                print(f"  {about}: {first or 'nothing'} instead of {wild or 'nothing'}")
        with_one = sum(bool(wild) for *_, wild in sets)
        print(
            f"{name}: first in {found} of {with_one}, accused {accused} of {len(sets) - with_one}"
        )


if __name__ == "__main__":
    main()
