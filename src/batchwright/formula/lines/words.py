"""Words of ingredient lines: units, sizes, ways of filling, number words, preparation. Words only, no figures."""

from __future__ import annotations


def word_set(table: str) -> frozenset[str]:
    """Return the words of a table."""
    return frozenset(table.split())


def _spellings(table: str) -> dict[str, str]:
    """Return spelling -> name from lines `name: spelling spelling ...`; the name and its plural are spellings too."""
    found = {}
    for row in table.strip().splitlines():
        name, _, others = row.partition(":")
        name = name.strip()
        plural = {"dash": "dashes", "pinch": "pinches", "bunch": "bunches", "inch": "inches", "box": "boxes", "loaf":
                  "loaves", "leaf": "leaves", "glass": "glasses", "splash": "splashes", "batch": "batches"}  # fmt: skip
        for spelling in (name, plural.get(name, name + "s"), *others.split()):
            found[spelling] = name
    return found


UNITS = _spellings("""
cup: c cupful cupfuls cupsful cps cp cu cuo cuq eup eups taza tazas tasse tassen tasses
tablespoon: tbsp tbsps tbs tb tbl tbls tblsp tblsps tbps tbspn tblspn tablesp tabelspoon tabelspoons tablspoon
tablespoon: tablespon tablespoonful tablespoonfuls tablespoonsful tbspoon tbspoons tablspoons tbsbp tbap el esslöffel
tablespoon: cucharada cucharadas
teaspoon: tsp tsps ts tspn teasp teaspon teaspons tespoon tespoons teaspn tsb tap teaspoonful teaspoonfuls
teaspoon: teaspoonsful tspoon tspoons tl teelöffel cucharadita cucharaditas
dessertspoon: dsp dsps dstspn dessertsp dessertspoonful dessertspoonfuls dssp
saltspoon: saltspoonful
ounce: oz ozs onz ounzes ounes onces oze
pound: lb lbs ib ibs pd pds pnd lbss
gram: g gr gm gms grm grms grs gs gramme grammes г gramm gramos grammi
kilogram: kg kgs kilo kilos kilogramme kilogrammes кг kgm
milligram: mg mgs milligramme milligrammes
millilitre: ml mls milliliter milliliters millilitres cc ccm мл
centilitre: cl cls centiliter centiliters
decilitre: dl dls deciliter deciliters
litre: l liter liters ltr ltrs lt л
quart: qt qts
pint: pt pts
gallon: gal gals
gill: gi
stick: stk stks
cube:
package: pkg pkgs pkge packages packet packets pack packs pkt pkts pk pks packg
envelope: env envs
sachet:
can: cn tin tins
jar:
bottle: btl btls
box: bx
bag:
carton: ctn ctns
tub:
pot:
container: cont
punnet:
tube:
roll:
log:
cake:
bar:
block:
brick:
ball:
square: sq sqs
head: hd
bunch: bu bn
clove:
slice: sl
rasher:
sheet:
piece: pc pcs pce
chunk:
strip:
wedge:
sprig: spr
stalk: stk.
rib:
stem:
leaf:
ear:
knob: nub
pat:
dollop:
drop: gtt
dash: dsh
pinch: pn prise prisen pizca pincée
smidgen: smidge smidgeon
handful: handfuls
glug:
splash:
drizzle:
squeeze:
sprinkle: sprinkling
grating:
mug:
glass:
wineglass: wineglassful
teacup: teacupful
coffeespoon:
scoop: scp
spoonful: spoonfuls spoon spoons
jigger:
shot:
nest:
loaf:
batch:
recipe:
part:
bulb:
fillet: fillets
bushel:
peck:
inch: in
""")
"""Spelling in small letters -> unit, singular and in full."""
UNITS |= {"stk.": "stalk"}
CASED_UNITS = {"T": "tablespoon", "Tb": "tablespoon", "TB": "tablespoon", "Tbs": "tablespoon", "t": "teaspoon",
               "C": "cup", "c": "cup", "G": "gram", "L": "litre", "l": "litre", "EL": "tablespoon",
               "TL": "teaspoon"}  # fmt: skip
"""Units told apart by large and small letters: T is a tablespoon, t a teaspoon."""
SLIPS = word_set("""
cuo cuq eup eups ib ibs tbps tabelspoon tabelspoons tablspoon tablspoons tablespon tbsbp tbap teaspon teaspons tespoon
tespoons teaspn tsb tap ounes onces onz ounzes oze lbss
""")  # fmt: skip
"""Slips of the pen or of a scan among the spellings; read, and said."""
FOREIGN = word_set("""
taza tazas tasse tassen tasses el esslöffel cucharada cucharadas tl teelöffel cucharadita cucharaditas prise prisen
pizca pincée г кг мл л
""")  # fmt: skip
AWKWARD = word_set("""
in el tap cu cp cn cont l lt part parts roll rolls log pot pots pat ear head recipe square ball cake drop glass bar
shot block brick stem leaf leaves rib ribs strip cube fillet fillets tl ts pn spr nub sl bu bn hd pd gs gi can spoon
spoons
""")  # fmt: skip
"""Spellings that are words of their own: a unit only straight after a number."""

WEIGHTS = frozenset({"gram", "kilogram", "milligram", "ounce", "pound"})
VOLUMES = frozenset({"cup", "tablespoon", "teaspoon", "dessertspoon", "millilitre", "centilitre", "decilitre", "litre",
                     "fluid ounce", "quart", "pint", "gallon", "gill"})  # fmt: skip
MEASURES = WEIGHTS | VOLUMES
CONTAINERS = word_set("""
package envelope sachet can jar bottle box bag carton tub pot container punnet tube roll log cake bar block brick ball
square head bunch loaf stick sheet piece slice fillet cube
""")  # fmt: skip
"""What may follow its own weight: an 8-ounce package."""
ALONE = word_set("pinch dash handful knob splash drizzle squeeze sprinkle glug smidgen dollop")
"""Units that need no number: a pinch is one pinch."""
TRAILING = {"clove": ("garlic",), "stick": ("cinnamon", "celery", "butter", "margarine"), "stalk": (), "sprig": (),
            "rib": ("celery",), "slice": (), "sheet": (), "rasher": (), "wedge": ()}  # fmt: skip
"""Units that may stand behind a counted item (3 garlic cloves), and the items they must stand behind if any."""
STEPS_UP = {("pound", "ounce"), ("kilogram", "gram"), ("cup", "tablespoon"), ("cup", "teaspoon"), ("tablespoon",
            "teaspoon"), ("quart", "cup"), ("pint", "cup"), ("litre", "millilitre"), ("stick", "tablespoon"),
            ("quart", "pint"), ("gallon", "quart"), ("cup", "ounce"), ("pint", "fluid ounce"), ("cup", "fluid ounce"),
            ("stick", "teaspoon")}  # fmt: skip
"""Pairs that stand side by side as a sum: 1 lb 4 oz."""
IN_TEASPOONS = {"teaspoon": 1.0, "tablespoon": 3.0, "cup": 48.0, "stick": 24.0}
"""US household measures in teaspoons (16 tablespoons a cup, 8 a stick): common practice, exact by definition."""
IN_OUNCES = {"ounce": 1.0, "pound": 16.0}
"""Avoirdupois ounces: exact by definition."""

SIZES = {"large": "large", "lg": "large", "lge": "large", "big": "large", "medium": "medium", "med": "medium",
         "md": "medium", "small": "small", "sm": "small", "jumbo": "jumbo", "xl": "extra-large",
         "extra-large": "extra-large", "extra-lg": "extra-large", "x-large": "extra-large", "medium-size": "medium",
         "medium-sized": "medium", "large-size": "large", "large-sized": "large", "small-sized": "small",
         "small-size": "small", "average": "medium", "medium-large": "medium-large", "tiny": "small",
         "good-size": "large", "good-sized": "large", "bite-size": "bite-size", "bite-sized": "bite-size"}  # fmt: skip
FILLINGS = {"heaped": "heaped", "heaping": "heaped", "heaping-full": "heaped", "rounded": "heaped",
            "well-rounded": "heaped", "generous": "heaped", "overflowing": "heaped", "level": "level",
            "leveled": "level", "levelled": "level", "struck": "level", "packed": "packed", "scant": "scant",
            "skimpy": "scant", "scanty": "scant", "sifted": "sifted", "spooned": "spooned"}  # fmt: skip
LOOSE_FILLINGS = frozenset({"rounded", "well-rounded", "generous", "overflowing", "skimpy", "scanty"})
ABOUT = word_set("about approx approximately roughly around circa ca abt appx nearly almost ~ ≈ approximate")
PLACES = {"us": "US", "u.s": "US", "american": "US", "uk": "UK", "british": "UK", "imperial": "UK", "english": "UK",
          "au": "AU", "aus": "AU", "australian": "AU", "metric": "AU", "aussie": "AU"}  # fmt: skip

NUMBERS = {"one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0, "seven": 7.0, "eight": 8.0,
           "nine": 9.0, "ten": 10.0, "eleven": 11.0, "twelve": 12.0, "fifteen": 15.0, "sixteen": 16.0, "twenty": 20.0,
           "half": 0.5, "quarter": 0.25, "third": 1 / 3, "dozen": 12.0, "couple": 2.0, "eighteen": 18.0,
           "thirty": 30.0}  # fmt: skip
FRACTIONS = {"half": 0.5, "halves": 0.5, "quarter": 0.25, "quarters": 0.25, "third": 1 / 3, "thirds": 1 / 3,
             "fourth": 0.25, "fourths": 0.25, "eighth": 0.125, "eighths": 0.125}  # fmt: skip
ARTICLES = frozenset({"a", "an"})

PREPARED = word_set("""
chopped diced minced sliced grated shredded ground toasted roasted melted softened sifted peeled pitted crushed mashed
beaten cooked uncooked shelled crumbled shaved slivered flaked hulled cored seeded deseeded skinned blanched
pulverized
pulverised cubed quartered halved separated whipped whisked drained rinsed washed trimmed squeezed scalded cooled
chilled
packed pureed puréed julienned torn snipped cracked strained browned soaked thawed defrosted stemmed destemmed boned
deboned zested juiced stoned unsifted unpeeled undrained reduced steamed boiled blended processed pounded rubbed
broken segmented sectioned shucked scrubbed cleaned dissolved creamed warmed heated crisped fried sauteed sautéed
caramelized caramelised chunked bruised scraped slit tossed mixed tempered proofed sieved flattened wilted mounded
dusted butterflied cut split squashed spooned levelled leveled unblanched unskinned preheated refrigerated stirred
halved
pulled stale scooped frothed pressed deveined patted diagonal creamed crimped husked unwrapped coarse-chopped
""")  # fmt: skip
"""Done to the ingredient: before the item it belongs to what is measured, after it comes later."""
ADVERBS = word_set("""
finely coarsely roughly thinly lightly freshly firmly tightly loosely well very thickly gently fresh-ly crosswise
lengthwise diagonally slightly partially very-finely fine-ly evenly medium-finely completely just barely newly
""")  # fmt: skip
WARMTH = word_set("cold warm hot boiling lukewarm tepid ice-cold iced soft very room-temperature cool icy")
WARMED = word_set("""
water milk butter margarine cream stock broth coffee tea oil buttermilk lard shortening egg eggs
espresso
""")  # fmt: skip
"""Foods whose coldness or softness is a state, not a kind (hot water, but not hot sauce)."""
DESCRIBING = word_set("""
dried dry fresh frozen canned tinned unsalted salted sweetened unsweetened light dark heavy low-fat lowfat fat-free
nonfat full-fat raw whole ripe organic plain sweet skim good good-quality best-quality quality unbleached bleached
fine
coarse white brown red green yellow black golden soft hard thick thin old-fashioned deep-yellow mild strong smoked
firm
seedless boneless skinless lean natural instant quick unflavored imported homemade store-bought cold warm hot young
baby
mature extra-sharp sharp pure flaky virgin extra-virgin free-range reduced-fat low-sodium gluten-free vegan kosher
superfine semi-sweet semisweet bittersweet tender meaty leafy untreated unwaxed unrefined refined crisp chunky creamy
best real neutral-flavored ripe smooth active pasteurized thick-cut
""")  # fmt: skip
"""Words that describe but name no food: a comma after them alone does not end the item."""
KEPT_WITH = {
    "ground": word_set("beef pork lamb turkey chicken veal meat chuck round sirloin sausage venison bison"),
    "whipped": frozenset(("cream", "topping", "butter")),
    "toasted": frozenset(("oil", "sesame-oil")), "roasted": frozenset(("oil", "red", "pepper", "peppers", "garlic")),
    "shredded": frozenset(("wheat",)), "crushed": frozenset(("red", "tomatoes", "ice")),
    "pressed": frozenset(("oil",)),
    "mixed": word_set("peel spice spices nuts fruit fruits berries herbs vegetables greens seeds candied dried"),
    "cracked": frozenset(("wheat", "bulgur")), "split": frozenset(("peas", "lentils")),
    "boiled": frozenset(("ham", "cider")),
    "cooked": frozenset(("ham",)), "cut": frozenset(("oats",)), "creamed": word_set("corn coconut spinach honey"),
    "reduced": frozenset(("fat", "sodium", "salt", "sugar")), "fried": frozenset(("onions", "shallots", "rice")),
    "stale": frozenset(), "processed": frozenset(("cheese", "cocoa", "peas")),
    "mashed": frozenset(("potato", "potatoes")),
    "refrigerated": frozenset(("biscuits", "dough", "crescent", "pie")),
    "caramelized": frozenset(("biscuit", "cookie")),
    "browned": frozenset(), "pulled": frozenset(("pork", "sugar")), "flaked": frozenset(("salt", "sea")),
    "rubbed": frozenset(("sage",)), "blended": frozenset(("oil", "whiskey")), "peeled": frozenset(("tomatoes",)),
}  # fmt: skip
"""Preparation words that make another food with what follows: they stay with the item."""

FRUITS = {"lemon": "lemon", "lemons": "lemon", "lime": "lime", "limes": "lime", "orange": "orange",
          "oranges": "orange", "grapefruit": "grapefruit", "grapefruits": "grapefruit", "tangerine": "tangerine",
          "tangerines": "tangerine", "clementine": "clementine", "clementines": "clementine", "yuzu": "yuzu",
          "mandarin": "mandarin", "mandarins": "mandarin", "apple": "apple", "apples": "apple",
          "pomegranate": "pomegranate", "onion": "onion", "ginger": "ginger", "satsuma": "satsuma",
          "satsumas": "satsuma"}  # fmt: skip
OF_FRUIT = {"juice": "juice", "zest": "zest", "rind": "zest", "peel": "zest", "juices": "juice", "zests": "zest"}
NO_FOOD = word_set("""
each total in all more extra additional less or so of and the a an about plus minus if as for to
with from at on into until needed necessary desired required like such optional divided use used see note notes per
well
thick long wide deep inch inches cm mm diameter removed reserved
""")  # fmt: skip
ENDS_ITEM = word_set("""
for such like preferably if plus minus more including about approximately see optional divided
with without until depending roughly unless ideally eg e.g i.e ie namely approx available note
""")  # fmt: skip
"""Words that begin a remark behind the item."""
TO_DO = word_set("""
taste serve garnish grease dust coat brush finish decorate drizzle fry sprinkle glaze cover thin
bind fill moisten top roll knead spread line thicken adjust make start season cook deep-fry sauté saute form
""")  # fmt: skip
SERVING = word_set("""
serve serving garnish garnishing decoration decorate decorating topping sprinkling sprinkle finishing finish
""")  # fmt: skip
PIECES = word_set("""
pieces chunks cubes slices strips quarters halves rings wedges dice thirds bits batons rounds half small large thin
bite-size shards matchsticks sections 1-inch
""")  # fmt: skip
