"""How many palettes, as quilters say them, are understood as they are meant.

``python -m tests.benchmarks.said_palettes`` prints them. What each means was written down before
the program was asked, in the plainest words of the grammar (``=``, alternatives by ``|``) or as
families that must be among those wanted (``>``). The grammar was made looking at the first list,
and mended where the two others failed after they had been asked once: what they came to then
stands in docs/measurements.md.
"""

from __future__ import annotations

from stash.colour.naming import family_of
from stash.colour.palette import Palette
from stash.colour.palette_words import palette_of_words
from stash.errors import PaletteError

LOOKED_AT = """
soft blues and greys with white = soft blue, soft grey, white | soft blue, grey, white
reds, whites and blues = red, white, blue
Christmas colours > red green
fall colors = autumn colours
Christmas red and green = red, green
black and white with a pop of lime = black, white, a touch of lime
batik blues = blue
everything except brown = anything but brown
no yellow please = no yellow
mainly greens with a little brown = mostly green, some brown | mostly green, a touch of brown
a rainbow = all colours
low volume with a touch of grey = low volume, a touch of grey
different shades of purple = purple
from pale pink to deep red > pink red
aqua, coral and sunny yellow = aqua, coral, yellow | aqua, coral, bright yellow
ocean colours > blue teal
sunset colours > orange pink purple
Civil War reproductions > brown
denim blues and rust = denim, rust
peach and mint green = peach, mint
charcoal and mustard = charcoal, mustard
burgundy & forest green = burgundy, forest green
I'd like blues and greens = blue, green
blue and white only = blue, white; no neutrals
just purples = purple | purple; no neutrals
cream background, dusty rose and sage = cream, dusty rose, sage
white background with brights > white red blue yellow
60% blue, 30% grey, 10% orange = 60% blue, 30% grey, a touch of orange
half navy, half white = half navy, half white
brown, but not too dark = brown; not too dark
nothing bright = nothing too bright
no darks = nothing too dark
mostly neutrals with a splash of teal = mostly neutrals, a touch of teal
monochrome green = green
turquoise with red accents = turquoise, a touch of red
navy with gold accents = navy, a touch of gold
lots of pink, less purple = mostly pink, some purple
periwinkle and lavender with hints of yellow = periwinkle, lavender, a touch of yellow
cool blues = blue
warm browns and oranges = brown, orange
greyed greens = muted green
eggplant, olive and ochre = eggplant, olive, ochre
blue-green and coral = teal, coral
batiks in blue and purple = blue, purple
solids in jewel tones = jewel tones
florals in pink and green = pink, green
pinks but no hot pink > pink
earthy greens and browns = earthy green, earthy brown | earthy green, brown
light, medium and dark blues = light blue, medium blue, dark blue
tone-on-tone whites = white
spring colours > green yellow pink
vintage pastels = pastels
primary colours > red yellow blue
caramel, chocolate and cream = caramel, chocolate, cream
emerald, sapphire, ruby and amethyst = emerald, sapphire, ruby, amethyst
baby blue and baby pink = baby blue, baby pink
off-white and slate blue = off white, slate blue
brights on black > black red blue yellow
black, grey and white, red as an accent = black, grey, white, a touch of red
red as the main colour, cream = mostly red, cream
"""

ASKED_ONCE = """
greens and golds with hints of rust = green, gold, a touch of rust
coral, mint and grey = coral, mint, grey
I want lots of teal, some white and a bit of orange = mostly teal, some white, a touch of orange
scrappy blues, nothing purple = blue; no purple
warm earth tones = earth tones
black, white and red all over = black, white, red
plum, burgundy, and a dash of mustard = plum, burgundy, a touch of mustard
soft pastels, no yellow = pastels; no yellow
mostly low volume prints with pops of hot pink = mostly low volume, a touch of hot pink
indigos and whites = indigo, white
browns, rusts and golds; avoid pink = brown, rust, gold; no pink
patriotic colours > red white blue
yellow, gray, white = yellow, grey, white
deep purple and emerald green = deep purple, emerald
blues from navy to sky blue > blue
Halloween: orange, black and purple = orange, black, purple
a quarter red, three quarters cream = a quarter red, three quarters cream
dark blues and light blues only = dark blue, light blue; no neutrals
cranberry, pine green and ivory = cranberry, pine, ivory
pinks and oranges, no neutrals = pink, orange; no neutrals
every colour of the rainbow = all colours
muted greens, muted blues, and tan = muted green, muted blue, tan
brights, but no orange = brights; no orange
no red or green = no red; no green
grey with a pop of any bright colour > grey
aqua and red, vintage feel = aqua, red
anything except black and brown = anything but black and brown
tan and white homespuns = tan, white
lilac, sage, a little butter = lilac, sage, a little butter
shades of blue, not too light = blue; not too light
"""

ASKED_LAST = """
mustard, teal and a bit of rust = mustard, teal, a touch of rust
Blues! All kinds of blues. = blue
brown and pink like the old days = brown, pink
mostly greens, some browns, no yellow = mostly green, some brown; no yellow
grey background with jewel tones > grey purple green
pumpkin, plum and olive green = pumpkin, plum, olive
creamy whites and soft taupes = cream, soft taupe | cream, taupe | white, taupe
lavender with white and a whisper of mint = lavender, white, a touch of mint
red, black, no brown or tan = red, black; no brown; no tan
nothing too dark, blues and corals = blue, coral; not too dark
half blue, a quarter white, a quarter yellow = half blue, a quarter white, a quarter yellow
raspberry, tangerine, lemon and lime = raspberry, tangerine, lemon, lime
dark florals with burgundy > red
navy, rust and ochre, but no bright orange = navy, rust, ochre; no bright orange
seaside colours > blue teal tan
black-and-white prints plus one pop of yellow = black, white, a touch of yellow
light greys through charcoal = light grey, charcoal
peacock, emerald and amethyst with gold accents = peacock blue, emerald, amethyst, a touch of gold
any green except olive = green; no olive
pinks from blush to raspberry > pink
"""


def meant(said: Palette) -> tuple[object, ...]:
    """Give what a palette means, whatever order it was said in."""
    parts = {(one.called, one.amount) for one in (*said.families, *said.targets)}
    shades = {one.called for one in said.avoided}
    return parts, shades, set(said.without), set(said.not_too), said.neutrals


def right(line: str) -> bool | None:
    """Tell whether a line is understood as it is meant; None where it is refused."""
    exactly = " = " in line
    said, _, wanted = line.partition(" = " if exactly else " > ")
    try:
        palette = palette_of_words("x", said)
    except PaletteError:
        return None
    if exactly:
        asked = [meant(palette_of_words("x", one)) for one in wanted.split(" | ")]
        return meant(palette) in asked
    families = {one.family for one in palette.families}
    families |= {family_of(one.lab).family for one in palette.targets}
    return set(wanted.split()) <= families


def main() -> None:
    """Print how many of each list are understood and right, and those that are not."""
    for name, lines in (
        ("looked at", LOOKED_AT),
        ("asked once, then mended", ASKED_ONCE),
        ("asked last, then mended", ASKED_LAST),
    ):
        told = {line: right(line) for line in lines.strip().splitlines()}
        understood = sum(one is not None for one in told.values())
        print(
            f"{name}: {understood} understood, {sum(map(bool, told.values()))} right of {len(told)}"
        )
        for line, one in told.items():
            if not one:
                print(f"  {'refused' if one is None else 'otherwise'}: {line}")


if __name__ == "__main__":
    main()
