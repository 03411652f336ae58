"""How many palettes, as quilters say them, are understood as they are meant.

``python -m tests.benchmarks.said_palettes`` prints them. What each means was written down before
the program was asked, in the plainest words of the grammar (``=``, alternatives by ``|``) or as
families that must be among those wanted (``>``). The grammar was made looking at the first list,
and mended where the others failed after they had been asked once: what they came to then stands
in docs/measurements.md.
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

# Said as wantonly as people do; each list was asked once and then mended on.
HARD = """
mostly greens, hardly any brown = mostly green, a touch of brown
in the spirit of the sea > blue teal
blues, greens, nothing too dark = blue, green; not too dark
greys and colors of stone > grey
sea-glass colours > teal green
wine-red and grey = wine, grey | burgundy, grey
a whole lot of teal and just a smidge of orange = mostly teal, a touch of orange
everything but orange and brown = anything but orange and brown
all colours except black and grey = anything but black and grey
blush-pink, ivory and sage-green = blush, ivory, sage
mid-blues and off-whites = medium blue, off white | medium blue, white | medium blue, cream
grays and yellows, mainly gray = mostly grey, some yellow
barely any red, mostly cream and navy = a touch of red, mostly cream and navy
think autumn leaves > orange red brown
like a summer meadow > green
bluebell woods > blue green
moody blues = dark blue | muted blue | blue
two blues, a green and a white = blue, green, white
scraps of red, white and blue = red, white, blue
pinks, but no hot pink = pink; no hot pink
nothing purple, nothing pink, otherwise anything = anything but purple and pink
no more than a little yellow, mostly blue = a touch of yellow, mostly blue
predominantly indigo with occasional rust = mostly indigo, a touch of rust
about a third red, the rest cream = a third red, cream | a third red, mostly cream
10% coral, the rest teal = 10% coral, teal | a touch of coral, mostly teal
equal parts navy and white = navy, white
blues of all kinds = blue
vintage linen tones with faded rose > tan
chocolate brown, caramel, cream-coloured = chocolate, caramel, cream
warm reds, no cool pinks > red
purple-ish blues and silver > blue grey
the colours of a peacock > blue teal
dusky pink and duck egg blue > pink
clotted cream and raspberry jam > cream
tans through browns to black = tan, brown, black
scarlet, ultramarine and gold leaf > red blue gold
turquoise and its neighbours > teal
mustard but no other yellows > gold
lighter blues, darker greens = light blue, dark green
sage, sage, and more sage = sage
"""
HARD_SECOND = """
teal, mostly, and the odd bit of peach = mostly teal, a touch of peach
blues and browns with next to no white = blue, brown, a touch of white
any blue, any green, no yellow = blue, green; no yellow
soft, dusty pinks and pale gray = muted pink, light grey
deep jewel colours > purple green blue
everything apart from pink = anything but pink
nothing too bright, greens and tans = green, tan; not too bright
a splash of tangerine on charcoal and white = a touch of tangerine, charcoal, white
indigo-and-white = indigo, white
off-white, oatmeal and slate-blue = off white, oatmeal, slate blue
three quarters navy, a quarter red = three quarters navy, a quarter red
Christmassy reds and greens = red, green
in the mood of an autumn wood > brown orange
inspired by the beach > blue tan
like spring flowers > pink yellow
coffee, cinnamon and vanilla > brown
mulberry with soft greens = mulberry, soft green
orange but only a little, lots of grey = a touch of orange, lots of grey | some orange, lots of grey
rose-pink and fern-green = rose pink, fern green
emerald, no other greens > green
"""
HARD_THIRD = """
lots and lots of blue, one red = lots of blue, a touch of red | lots of blue, red
charcoal greys with the merest hint of lilac = charcoal, a touch of lilac
dark teal, not too much of it, with cream = dark teal, cream | a touch of dark teal, cream
fuchsia against navy = fuchsia, navy
colours of a winter sky > blue grey
stone, moss and heather > green purple
black background, brights on top > black red yellow blue
green through blue to violet = green, blue, purple
russet and ochre tones, very few greens = russet, ochre, a touch of green
pinks and reds, nothing pale = pink, red; not too light
nothing but blue and white = blue, white; no neutrals
anything warm > red orange yellow
strictly no purple, please; blues otherwise = blue; no purple
toffee, biscuit, and cream = toffee, biscuit, cream | brown, tan, cream
cherry red, mint green, butter yellow = cherry red, mint, butter
antique rose, antique gold, cream > pink gold cream
poppy red on a field of green = poppy, green | red, green | a touch of poppy, green
bits of everything = all colours
not a lot of orange, plenty of aqua = a touch of orange, plenty of aqua
lilac-grey and plum = lilac, grey, plum | lilac, plum
"""
HARD_LAST = """
wine, fig and dove grey = wine, fig, dove grey | wine, purple, grey
soft teal, softer green, white = soft teal, soft green, white
blues – all of them – and cream = blue, cream
quite a lot of yellow, a bit less grey = mostly yellow, some grey
browns, not red-brown ones = brown; no red brown
paprika, saffron and turmeric > orange gold
muted rainbow > red green blue purple
navy and cranberry, cream for the background = navy, cranberry, cream
dark, moody florals with plum > purple
lilacs and lavenders with silver grey = lilac, lavender, silver grey | lilac, lavender, silver
bright white with cobalt = white, cobalt
coral, aqua; please leave out anything orange = coral, aqua; no orange
green on green on green = green
mostly low volume with one deep blue = mostly low volume, some dark blue
tomato red, sky blue, sunflower yellow = tomato red, sky blue, sunflower
old-fashioned pinks and browns = pink, brown
greens only, no yellow-greens = only green; no yellow green
shades of grey from silver to charcoal > grey
purple, but keep it light = light purple | purple; not too dark
in the colors of the ocean, some sand = ocean colours, some sand
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
        ("hard, asked once, then mended", HARD),
        ("hard, second", HARD_SECOND),
        ("hard, third", HARD_THIRD),
        ("hard, last", HARD_LAST),
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
