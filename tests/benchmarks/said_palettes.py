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
# Said plainly, then more freely, then plainly once more; the last was not mended on.
PLAIN = """
teal and rust with a little cream = teal, rust, a little cream
forest green, burgundy and gold for Christmas = forest green, burgundy, gold
only blues and whites = blue, white; no neutrals
lots of white, a bit of navy, one pop of red = lots of white, a bit of navy, a touch of red
brights without any black = brights; no black
soft greens and lavender on white = soft green, lavender, white
pink, but not hot pink = pink; no hot pink
reds and pinks, no orange please = red, pink; no orange
dark blues with bright yellow = dark blue, bright yellow
neutrals with a pop of teal = neutrals, a touch of teal
olive green, mustard yellow, burnt orange = olive, mustard, burnt orange
mainly grey, with yellow and white = mostly grey, yellow, white
turquoise, coral, lime and white = turquoise, coral, lime, white
all the purples = purple
pastel pink and pastel blue = pastel pink, pastel blue
everything except yellow and orange = anything but yellow and orange
navy and white with red accents = navy, white, a touch of red
sage green and dusty pink = sage, dusty pink
chocolate and turquoise = chocolate, turquoise
rainbow brights on white > white red blue yellow
cream, tan and brown with a hint of rust = cream, tan, brown, a hint of rust
blues from pale to navy > blue
greys and blacks with hot pink = grey, black, hot pink
mint, peach and gray = mint, peach, grey
no brown, no black, no grey = no brown; no black; no grey
jewel tones without red = jewel tones; no red
autumn colors with a bit of teal = autumn colours, a bit of teal
half green and half cream = half green, half cream
mostly aqua, a few corals = mostly aqua, some coral | mostly aqua, a touch of coral
lilac, mint and lemon = lilac, mint, lemon
indigo, natural linen and rust = indigo, linen, rust
earth tones, nothing too dark = earth tones; not too dark
warm colours only > red orange yellow
cool colours > blue green
strawberry pink and grass green = strawberry, grass green | strawberry pink, grass green
plums and greys = plum, grey
white with tiny bits of every colour > white
dusky blues and soft grey = dusky blue, soft grey
black and gold = black, gold
reds, whites, and navies = red, white, navy
light blue, not too bright = light blue; not too bright
purple and green, mostly purple = mostly purple, green | mostly purple, some green
orange and pink and a dash of gold = orange, pink, a dash of gold
teal, aqua, and white with touches of orange = teal, aqua, white, a touch of orange
shades of grey with a red accent = grey, a touch of red
muted blues and browns, no white = muted blue, muted brown; no white | muted blue, brown; no white
mustard, navy, blush, cream = mustard, navy, blush, cream
greens and blues, a bit of purple, no red = green, blue, a bit of purple; no red
80% blue and 20% white = mostly blue, some white | 80% blue, 20% white
two parts red to one part white = mostly red, some white | two thirds red, a third white
beachy blues and sands > blue
apple green and raspberry = apple green, raspberry
a little bit of everything = all colours
low volume background with jewel tones > purple green
blush, burgundy and navy wedding colours = blush, burgundy, navy
spring greens and daffodil yellow = spring green, daffodil | green, daffodil
midnight blue with silver = midnight blue, silver | midnight, silver
khaki, brick and denim = khaki, brick, denim
cheddar, indigo and double pink > blue pink orange
anything blue = blue
"""
FREE = """
red, white and blue without any navy = red, white, blue; no navy
blues without purple = blue; no purple
pinks and creams for a baby quilt = pink, cream
orange and black for Halloween = orange, black
three parts navy to one part gold = mostly navy, some gold
bright pastels on grey > grey
copper, teal and ivory = copper, teal, ivory
a base of white with blue and green = white, blue, green | mostly white, blue, green
mostly red with small amounts of green = mostly red, a touch of green
deep teal, burnt sienna, cream = dark teal, burnt sienna, cream | deep teal, burnt sienna, cream
all greens except lime = green; no lime
faded denim and cream = faded denim, cream | muted denim, cream | denim, cream
salmon, mint and charcoal grey = salmon, mint, charcoal | salmon, mint, charcoal grey
black and white with yellow pops = black, white, a touch of yellow
rich browns and deep reds = dark brown, dark red | brown, dark red | rich brown, deep red
no pastels, just brights = brights
blue, but nothing lighter than denim > blue
lavender fields and lemon > purple yellow
white and cream with soft grey shadows = white, cream, soft grey
peacock colours with gold = peacock colours, gold
maroon and gold, school colours = maroon, gold
aqua and coral on a white background = aqua, coral, white
mainly purple; some pink; a hint of silver = mostly purple, some pink, a touch of silver
the blues of the sea and the yellow of the sun > blue yellow
light pink through to deep magenta > pink
navy blue, forest green, wine red, mustard yellow = navy, forest green, wine, mustard
taupe, cream and a very little black = taupe, cream, a touch of black
dark green and light green = dark green, light green
pale yellow and pale grey = pale yellow, pale grey
reds in every shade = red
winter whites and silver > white
purple and orange but no red = purple, orange; no red
vivid blue, vivid green = bright blue, bright green | vivid blue, vivid green
70% cream, 20% sage, 10% rust = 70% cream, 20% sage, 10% rust
hot pink, orange, yellow: the hotter the better > pink orange yellow
moss, bark and stone = moss, bark, stone
grey, but warm ones only > grey
cobalt and white, sparingly yellow = cobalt, white, a touch of yellow
raspberry, cream, and a lot of grey = raspberry, cream, lots of grey
ruby, emerald, gold = ruby, emerald, gold
"""
PLAIN_LAST = """
greens, browns and a small amount of orange = green, brown, a touch of orange
no greys, only warm browns = brown; no grey; no neutrals | brown; no grey
navy to powder blue with white = navy, powder blue, white
reds and teals for the border, cream background = red, teal, cream
cherry red, sky blue and cream = cherry, sky blue, cream | cherry red, sky blue, cream
mostly brown, some gold, very little red = mostly brown, some gold, a touch of red
blues and yellows without green = blue, yellow; no green
plenty of pink, not much grey = mostly pink, a touch of grey | lots of pink, a touch of grey
burnt orange, plum and moss = burnt orange, plum, moss
grey and white with turquoise highlights = grey, white, a touch of turquoise
black background with jewel tones > black purple green
pale blue, pale pink, no white = pale blue, pale pink; no white
ivory and gold for a wedding quilt = ivory, gold
dark purples and silver = dark purple, silver
everything but brown = anything but brown
blue and brown, mainly blue = mostly blue, brown | mostly blue, some brown
forest colours > green brown
orange, but muted = muted orange
white with navy and a tiny bit of coral = white, navy, a touch of coral
yellow ochre, brick red and olive = yellow ochre, brick, olive | ochre, brick, olive
soft pinks, soft greens, a little brown = soft pink, soft green, a little brown
greens in all shades, with white = green, white
50% teal, 50% white = half teal, half white
bright orange and bright pink, nothing dark = bright orange, bright pink; not too dark
dusty lavender and cream = dusty lavender, cream | muted lavender, cream | lavender, cream
one quarter gold, the rest navy = a quarter gold, navy | a quarter gold, mostly navy
cream, caramel and cocoa = cream, caramel, cocoa
red and white with a hint of green = red, white, a touch of green
pinks, purples and blues; no neutrals = pink, purple, blue; no neutrals
a dark palette with plum and teal > purple teal
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
        ("plain, asked once, then mended", PLAIN),
        ("free, asked once, then mended", FREE),
        ("plain, asked last", PLAIN_LAST),
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
