"""Sets of cloth told in words, with a wild one or none: truths of our own, written before asking.

``python -m tests.benchmarks.wild_sets_in_words``. A cloth is a colour word of the table in its
first cloth colour, or a figure in several (``dots:navy,cream``), drawn here; some are pictures of
``shared/data/judged_cloth`` beside the checkout. The measure of company was mended looking at the
first three lists after each had been asked once; the last was asked once, after the last change.
What they came to at first stands in docs/measurements.md.
"""

from __future__ import annotations

import json

import cv2
import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.colour_words import colour_words
from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb, srgb_of_lab
from tests.benchmarks.judged_cloth import looks_of
from tests.benchmarks.more_wild_sets import ask, recoloured, sets_of
from tests.shared_data import shared

FIRST = """
dusty roses and grey, tangerine | dusty-rose mauve check:grey,white
    flowers:white,dusty-rose,sage pale-grey dots:mauve,white stripe:dusty-pink,cream tangerine |
    tangerine
navy, cream and tan, fuchsia dots | navy cream tan stripe:navy,cream flowers:cream,navy,tan
    denim check:tan,cream dots:fuchsia,yellow | dots:fuchsia,yellow
sage, olive and cream, cobalt | sage olive cream flowers:cream,sage,olive check:sage,white
    dots:olive,cream moss cobalt | cobalt
browns and golds, mint check | chocolate caramel mustard flowers:caramel,chocolate,cream
    check:brown,tan dots:mustard,brown old-gold check:mint,white | check:mint,white
white and pale grey, crimson stripe | white pale-grey dots:white,pale-grey
    stripe:white,light-grey check:light-grey,white flowers:white,pale-grey silver
    stripe:crimson,white | stripe:crimson,white
teal, aqua and navy, pumpkin | teal aqua navy dots:teal,white flowers:navy,aqua,white
    stripe:turquoise,white check:aqua,navy pumpkin | pumpkin
lavender, lilac and white, kelly green | lavender lilac white flowers:white,lilac,lavender
    dots:lavender,white stripe:lilac,white plum kelly-green | kelly-green
reds and cream, turquoise flowers | red crimson cream dots:red,cream stripe:maroon,cream
    flowers:cream,crimson,red check:red,white flowers:turquoise,lime,white |
    flowers:turquoise,lime,white
greens, hot pink | forest-green emerald sage mint dots:forest-green,white
    flowers:mint,emerald,white check:sage,cream hot-pink | hot-pink
peach, coral and cream, black | peach coral cream blush dots:peach,white
    flowers:cream,coral,peach stripe:blush,white black | black
charcoal, grey and black, sunflower | charcoal grey black light-grey check:black,white
    dots:charcoal,white stripe:grey,black sunflower | sunflower
indigo and pale blue, brick check | indigo pale-blue denim dots:indigo,white
    stripe:pale-blue,white flowers:white,denim,indigo check:denim,white check:brick,gold |
    check:brick,gold
baby colours, purple | baby-blue baby-pink butter mint dots:white,baby-pink
    stripe:baby-blue,white flowers:butter,white,mint royal-purple | royal-purple
rust, olive and ochre, magenta | rust olive ochre brown flowers:ochre,rust,olive check:rust,tan
    dots:olive,tan magenta | magenta
wine, plum and grey, lime dots | wine plum grey burgundy flowers:grey,wine,plum check:plum,grey
    dots:wine,pale-grey dots:lime,white | dots:lime,white
navy and white | navy white stripe:navy,white dots:navy,white check:navy,white
    flowers:white,navy,denim dots:white,navy royal-blue |
dusty pinks, sage, cream | dusty-pink sage cream dusty-rose flowers:cream,dusty-rose,sage
    check:sage,cream dots:dusty-pink,cream moss |
teal, coral, sand | teal coral sand dots:teal,white flowers:sand,coral,teal stripe:coral,white
    check:aqua,white cream |
navy, rust, mustard | navy rust mustard cream flowers:navy,mustard,rust check:rust,cream
    dots:mustard,navy stripe:navy,cream |
black, white, red | black white red check:black,white dots:red,white flowers:white,black,red
    stripe:black,white charcoal |
pastel rainbow | baby-pink butter mint baby-blue lavender peach dots:white,mint
    flowers:white,baby-pink,mint |
jewels | emerald sapphire ruby amethyst plum dark-teal flowers:plum,emerald,ruby
    dots:sapphire,white |
greens from light to dark | mint sage apple-green forest-green olive emerald
    dots:bottle-green,white flowers:mint,emerald,olive |
purples | lavender lilac plum purple grape orchid dots:purple,white flowers:lilac,plum,purple |
yellow and grey | yellow grey white charcoal stripe:yellow,white dots:grey,white
    flowers:white,yellow,grey check:light-grey,white |
cabin lodge | maroon forest-green chocolate tan navy check:maroon,black check:forest-green,tan
    dots:tan,chocolate |
pink and orange | hot-pink orange coral peach dots:hot-pink,white flowers:peach,hot-pink,orange
    stripe:orange,white tangerine |
blue and yellow | royal-blue yellow white sky-blue dots:yellow,white
    flowers:white,royal-blue,yellow stripe:sky-blue,white navy |
thirties reproduction | flowers:white,red,mint flowers:baby-blue,white,yellow
    flowers:butter,red,blue dots:baby-pink,white check:mint,white flowers:lavender,white,yellow
    stripe:peach,white |
cream, brown and blush | cream brown blush taupe tan chocolate flowers:cream,blush,brown
    dots:taupe,cream |
cool greys and blues | slate steel pale-blue grey dusty-blue white dots:slate,white
    stripe:dusty-blue,white |
"""
SECOND = """
aquas and white, burgundy | aqua seafoam white turquoise dots:aqua,white stripe:seafoam,white
    flowers:white,aqua,teal burgundy | burgundy
taupe, sand and blush, emerald | taupe sand blush linen flowers:linen,blush,taupe
    check:taupe,cream dots:sand,white emerald | emerald
navy, maroon and forest, bubblegum stripe | navy maroon forest-green chocolate check:navy,maroon
    dots:forest-green,tan flowers:maroon,navy,tan stripe:bubblegum-pink,white |
    stripe:bubblegum-pink,white
yellows and white, black | yellow butter lemon white flowers:white,yellow,butter
    dots:lemon,white stripe:butter,white black | black
purples and greys, orange flowers | plum lavender grey lilac dots:plum,white check:grey,lavender
    stripe:lilac,grey flowers:orange,red,yellow | flowers:orange,red,yellow
mint, sage and white, royal blue | mint sage white celery dots:mint,white check:sage,white
    flowers:white,mint,celery royal-blue | royal-blue
blacks, whites and greys, teal check | black white grey stripe:black,white dots:white,black
    check:grey,white flowers:black,white,grey check:teal,turquoise | check:teal,turquoise
coral, peach and gold, violet | coral peach gold apricot flowers:peach,coral,gold
    dots:gold,cream stripe:coral,white violet | violet
dark greens and browns, white | forest-green chocolate olive bottle-green dots:olive,brown
    check:forest-green,brown flowers:chocolate,olive,moss white | white
pinks and whites, olive | pink pale-pink rose white dots:pink,white flowers:white,rose,pale-pink
    check:pink,white olive | olive
denims and greys, sunset dots | denim slate grey steel stripe:denim,white check:grey,white
    dots:slate,pale-grey dots:hot-pink,orange | dots:hot-pink,orange
cream and gold, cobalt flowers | cream gold old-gold ivory dots:cream,gold stripe:mustard,cream
    check:gold,cream flowers:cobalt,white,blue | flowers:cobalt,white,blue
oranges and browns, aqua | orange rust brown terracotta dots:rust,cream flowers:brown,orange,tan
    check:orange,brown aqua | aqua
soft blues and lavenders, mustard | pale-blue lavender periwinkle powder-blue
    dots:lavender,white flowers:white,periwinkle,pale-blue stripe:powder-blue,white mustard |
    mustard
teal and lime | teal lime white turquoise apple-green dots:teal,white flowers:white,lime,teal
    stripe:lime,white |
red, aqua and white | red aqua white dots:red,white flowers:aqua,red,white check:aqua,white
    stripe:red,white turquoise |
plum, gold and grey | plum gold grey flowers:plum,gold,grey dots:gold,cream check:grey,plum
    charcoal old-gold |
peacock | teal emerald royal-blue purple turquoise flowers:royal-blue,teal,purple
    dots:emerald,white stripe:purple,teal |
spring | lilac butter apple-green pink sky-blue flowers:white,pink,apple-green dots:lilac,white
    check:butter,white |
oceans | navy teal aqua sky-blue sand white dots:navy,white stripe:aqua,white |
reds | red crimson maroon brick cherry dots:red,white flowers:crimson,pink,white check:maroon,red |
low volume warm | cream ivory linen dots:cream,tan flowers:ivory,blush,sand stripe:cream,sand
    check:white,beige beige |
low volume with small colour | dots:white,red dots:white,blue flowers:cream,green,pink
    stripe:white,grey check:white,pale-blue flowers:white,yellow,grey dots:cream,black |
brown and pink | chocolate pink brown rose flowers:brown,pink,cream dots:pink,white
    stripe:brown,tan dusty-rose |
olive, plum and mustard | olive plum mustard flowers:plum,olive,mustard dots:mustard,cream
    check:olive,tan eggplant moss |
brights on white | dots:white,hot-pink dots:white,lime dots:white,turquoise
    flowers:white,orange,purple stripe:white,red check:white,yellow flowers:white,blue,green |
batik sunset to night | yellow orange coral magenta purple indigo flowers:purple,orange,magenta
    dots:indigo,purple |
christmas | red forest-green white gold flowers:white,red,forest-green check:red,forest-green
    dots:forest-green,white stripe:red,white |
grey, mint and peach | grey mint peach white dots:mint,white flowers:white,peach,mint
    stripe:grey,white check:peach,white |
"""
THIRD = """
grey and blush, kelly green check | grey blush white silver dots:grey,white
    flowers:blush,grey,white stripe:light-grey,white check:kelly-green,white |
    check:kelly-green,white
navy, red and cream, lime | navy red cream dots:navy,white flowers:cream,red,navy
    stripe:red,white check:navy,cream lime | lime
teal and gold, bubblegum | teal gold dark-teal mustard dots:teal,cream flowers:cream,gold,teal
    check:gold,cream bubblegum-pink | bubblegum-pink
cabin browns, purple stripe | chocolate rust tan forest-green check:brown,tan dots:rust,tan
    flowers:tan,olive,brown stripe:violet,white | stripe:violet,white
pink and lavender, orange dots | pink lavender lilac pale-pink dots:pink,white
    stripe:lavender,white flowers:white,pink,lilac dots:orange,white | dots:orange,white
ivory and taupe, hot pink flowers | ivory taupe beige cream stripe:beige,white dots:cream,taupe
    check:tan,cream flowers:white,hot-pink,lime | flowers:white,hot-pink,lime
blue and green, scarlet | royal-blue emerald sky-blue apple-green dots:blue,white
    flowers:white,green,blue stripe:teal,white scarlet | scarlet
autumn, baby blue | rust mustard olive burgundy chocolate dots:mustard,brown
    flowers:cream,rust,olive baby-blue | baby-blue
navy and brown, yellow | navy brown denim tan stripe:navy,tan check:brown,tan dots:navy,white
    yellow | yellow
black and cream, coral | black cream charcoal ivory dots:black,white flowers:cream,black,grey
    stripe:black,cream coral | coral
seafoam and sand, burgundy check | seafoam sand mint cream dots:mint,white stripe:sand,white
    flowers:cream,seafoam,sand check:burgundy,pink | check:burgundy,pink
muted scrappy, neon | slate brick olive mauve taupe dots:slate,cream flowers:cream,mauve,olive
    check:brick,tan p30 | p30
pastels, navy | f006 p13 p12 p37 p26 p42 p20 f007 | f007
wool greys, magenta dots | f034 f043 f061 f065 rbx c003 r10 | r10
blue florals, orange | p44 p02 p26 r30 p05 f072 p10 | p10
rust and teal | rust teal cream dots:teal,white check:rust,cream flowers:cream,teal,rust
    terracotta aqua |
black, grey, pink | black grey pink hot-pink dots:black,white flowers:white,pink,grey
    stripe:grey,white charcoal |
orange and blue | orange navy white sky-blue dots:orange,white stripe:navy,white
    flowers:white,orange,blue denim |
lavender and sage | lavender sage cream lilac flowers:cream,lavender,sage check:sage,white
    dots:lavender,white plum |
burgundy and forest | burgundy forest-green cream maroon flowers:cream,burgundy,forest-green
    check:forest-green,cream dots:maroon,cream tan |
pink, yellow, aqua | pink yellow aqua white dots:pink,white dots:aqua,white dots:yellow,white
    flowers:white,pink,yellow |
sea and coral reef | turquoise coral navy aqua white dots:coral,white
    flowers:turquoise,coral,yellow stripe:navy,white sand |
red and gold | red gold maroon mustard dots:red,cream flowers:cream,gold,red check:gold,maroon
    crimson |
violet to blue | purple violet indigo royal-blue periwinkle lavender dots:indigo,white
    flowers:lavender,purple,blue |
browns with one blue family | chocolate tan caramel dusty-blue denim check:brown,tan
    dots:dusty-blue,white flowers:tan,brown,denim |
lemon and lime | lemon lime yellow apple-green white dots:lime,white flowers:white,yellow,green
    stripe:lemon,white |
cottage garden | flowers:white,pink,green flowers:cream,red,blue flowers:butter,purple,green
    dots:sage,white stripe:pink,white rose moss |
scrappy brights | red orange yellow kelly-green turquoise royal-blue purple hot-pink |
scrappy pastels | blush butter mint powder-blue lavender peach celery |
charcoal, teal, white | charcoal teal white grey dots:teal,white check:charcoal,white
    stripe:grey,white turquoise |
farm animals and barns | red denim cream tan forest-green check:red,white stripe:denim,white
    dots:tan,cream chocolate |
feed sacks | p12 p20 p22 p26 p33 r12 r24 r38 r04 |
indigo with rust | f069 godot f072 p02 p05 c015 r01 f053 c008 |
wine country | wine plum olive gold cream flowers:cream,wine,olive dots:plum,cream check:olive,tan |
retro kitchen | red yellow aqua white dots:red,white check:aqua,white flowers:white,red,yellow
    stripe:yellow,white black |
snow and evergreen | white pine silver dots:white,grey flowers:white,pine,red check:pine,white
    stripe:silver,white emerald |
"""
LAST = """
chocolate and cream, turquoise | chocolate cream coffee dots:cream,brown check:brown,cream
    flowers:cream,caramel,chocolate stripe:tan,white turquoise | turquoise
navy and grey, hot pink dots | navy grey slate dots:navy,white stripe:grey,white check:navy,grey
    flowers:white,navy,grey dots:hot-pink,white | dots:hot-pink,white
sage and blush, orange | sage blush cream dots:sage,white flowers:cream,blush,sage
    stripe:blush,white check:sage,cream orange | orange
plums, lime | plum eggplant mauve lavender dots:plum,white flowers:lavender,plum,white
    check:mauve,white lime | lime
golds and creams, purple check | gold mustard cream butter dots:gold,white stripe:butter,white
    flowers:cream,gold,mustard check:purple,white | check:purple,white
olive and brown, aqua flowers | olive brown moss tan check:olive,tan dots:brown,tan
    stripe:moss,cream flowers:aqua,white,turquoise | flowers:aqua,white,turquoise
pale blue and white, rust | pale-blue white powder-blue sky-blue dots:powder-blue,white
    flowers:white,pale-blue,blue stripe:sky-blue,white rust | rust
maroon and tan, bright blue | maroon tan burgundy cream check:maroon,tan dots:burgundy,cream
    flowers:cream,maroon,tan bright-blue | bright-blue
white on white, black dots | white off-white ivory dots:white,pale-grey stripe:white,ivory
    flowers:white,cream,ivory check:white,off-white dots:black,white | dots:black,white
coral and cream, forest | coral cream peach salmon dots:coral,white flowers:cream,coral,peach
    check:salmon,white forest-green | forest-green
aqua and yellow, maroon | aqua yellow white butter dots:aqua,white stripe:yellow,white
    flowers:white,aqua,yellow maroon | maroon
denim scrappy, orange stripe | denim navy f069 f072 stripe:denim,white dots:navy,white
    check:denim,white stripe:orange,yellow | stripe:orange,yellow
sage florals, magenta | p24 f078 c007 p08 f044 f008 magenta | magenta
greens and browns, pink stripe | f018 c011 f025 f053 f041 p25 p20 | p20
greys and creams, teal | f034 f044 p08 p17 p36 f019 rbx f017 | f017
dark jewel, white | plum dark-teal emerald indigo wine dots:indigo,purple
    flowers:plum,wine,emerald white | white
teal and cream | teal dark-teal cream turquoise dots:teal,cream flowers:cream,teal,aqua
    check:teal,white ivory |
grey and blush | grey blush silver pink dots:grey,white flowers:white,blush,grey
    stripe:blush,white dusty-pink |
navy, mustard, cream | navy mustard cream denim gold dots:mustard,cream stripe:navy,cream
    flowers:cream,navy,mustard |
forest and cranberry | forest-green cranberry cream hunter-green dots:cranberry,cream
    check:forest-green,cream flowers:cream,cranberry,forest-green burgundy |
coral and navy | coral navy white salmon denim dots:coral,white stripe:navy,white
    flowers:white,coral,navy |
chocolate and blue | chocolate pale-blue brown powder-blue dots:brown,cream
    flowers:cream,brown,powder-blue check:pale-blue,white dusty-blue |
purple and green | purple apple-green lavender sage dots:purple,white flowers:white,purple,green
    stripe:sage,white lilac |
gold and grey | gold grey mustard charcoal light-grey dots:grey,white check:gold,cream
    flowers:white,gold,grey |
red and black check | red black check:red,black check:black,white dots:red,white
    dots:black,white crimson |
lemon, sky and grass | lemon sky-blue apple-green yellow pale-blue green
    flowers:white,yellow,green dots:sky-blue,white |
sunset | orange coral gold hot-pink peach raspberry flowers:peach,orange,hot-pink dots:coral,white |
vineyard | plum grape olive sage wine moss dots:plum,cream flowers:cream,olive,plum |
oatmeal neutrals | oatmeal beige cream taupe linen dots:cream,tan check:beige,white
    flowers:cream,taupe,tan |
blues | navy royal-blue denim sky-blue pale-blue cornflower dots:denim,white
    flowers:white,blue,navy |
rainbow solids | red orange yellow green teal blue indigo purple pink |
rainbow prints on white | dots:white,red stripe:white,orange flowers:white,yellow,gold
    check:white,green dots:white,teal flowers:white,blue,navy stripe:white,purple |
soft rainbow | pale-pink peach butter mint pale-blue lavender flowers:white,pale-pink,mint
    dots:butter,white |
prairie | brick gold olive denim tan check:brick,tan dots:denim,cream flowers:tan,olive,gold |
rose garden | rose dusty-rose sage forest-green cream flowers:cream,rose,sage
    dots:dusty-rose,white check:sage,cream |
seaside | navy aqua sand white turquoise stripe:navy,white dots:aqua,white
    flowers:white,aqua,navy check:sand,white |
forest | forest-green olive moss brown chocolate tan dots:olive,cream check:brown,tan |
peach and mint | peach mint cream apricot seafoam dots:peach,white dots:mint,white
    flowers:cream,peach,mint |
real plaids and browns | f053 f025 c008 c016 f041 p39 f011 f044 |
real blues and whites | p44 p02 p05 f015 f060 c002 p22 f076 |
real greens and creams | f018 f078 p24 p25 c011 p08 f047 f008 |
"""
_SIDE, _DRAWN = 240, 480  # pixels; drawn twice as fine
_REPEAT, _DOT, _STRIPE, _CHECK, _PETAL = 40, 9, 18, 30, 7
_FLOWERS, _PER_IN = 95, 60.0


def made(told: str) -> Appearance:
    """Describe a cloth drawn as it is told."""
    figure, _, said = told.rpartition(":")
    inks = [_ink(word) for word in said.split(",")]
    drawn = np.full((_DRAWN, _DRAWN, 3), inks[0])
    rng = np.random.default_rng(sum(map(ord, told)))
    if figure == "dots":
        for row, y in enumerate(range(15, _DRAWN + 30, _REPEAT)):
            for x in range(15 + row % 2 * _REPEAT // 2, _DRAWN + 30, _REPEAT):
                cv2.circle(drawn, (x, y), _DOT, inks[1], -1)
    elif figure == "stripe":
        drawn[:, np.arange(_DRAWN) % _REPEAT < _STRIPE] = inks[1]
    elif figure == "check":
        band = np.arange(_DRAWN) // _CHECK % 2
        part = (band[:, None, None] + band[None, :, None]) / 2
        drawn = part * inks[0] + (1 - part) * inks[1]
    elif figure == "flowers":
        for number in range(_FLOWERS):
            x, y = rng.integers(0, _DRAWN, 2)
            for turn in np.arange(5) * 2 * np.pi / 5:
                at = (int(x + 9 * np.cos(turn)), int(y + 9 * np.sin(turn)))
                cv2.circle(drawn, at, _PETAL, inks[1 + number % (len(inks) - 1)], -1)
    small = cv2.resize(drawn, (_SIDE, _SIDE), interpolation=cv2.INTER_AREA)
    pixels = np.clip(small + rng.normal(0, 3, (_SIDE, _SIDE, 1)), 0, 255).astype(np.uint8)
    whole = np.ones((_SIDE, _SIDE), dtype=bool)
    return describe(ClothSample(pixels, whole, lab_of_srgb, _PER_IN))


def _ink(word: str) -> tuple[float, ...]:
    said = colour_words()[word.replace("-", " ")]
    lab = (said.colours or said.survey)[0]
    return tuple((srgb_of_lab(np.array(lab)) * 255).tolist())


def main() -> None:
    """Print how many wild ones are found, and how many peaceful sets are accused."""
    folder = shared("data/judged_cloth")
    judged = json.loads((folder / "judged.json").read_text())
    looks = looks_of(judged, folder) | recoloured(folder, judged["pictures"])
    for name, text in (("first", FIRST), ("second", SECOND), ("third", THIRD), ("last", LAST)):
        sets = sets_of(text.replace("\n    ", " "))
        for told in sorted({one for _, cloths, _ in sets for one in cloths.split()} - looks.keys()):
            looks[told] = made(told)
        ask(f"in words, {name}", sets, looks)


if __name__ == "__main__":
    main()
