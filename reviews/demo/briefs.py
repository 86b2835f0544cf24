"""What the publisher of the story asks for: the book's brief, and one for each spread that is drawn first."""

BOOK_BRIEF = {
    "art": "One night from dusk to first light; every spread is a little later than the one before.\n"
    "Tansy is a dormouse of seven: brave in her face, unsure in her paws.",
    "palette": "Deep blues and violets; the only warm light comes from the pail.\n"
    "The scarf is the same mustard throughout, and nothing else is that yellow.",
    "age": "Four to seven, read aloud at bedtime.",
    "house": "Thimblereed books show no screens, no brands and no weapons.",
    "lettering": "Text in the house serif, 18 on 26 point; quiet ground for five lines on every spread.",
    "never": "Nothing that matters lies within 13 mm of the fold.\n"
    "No moon in the sky between page 6 and page 28: she is carrying it.",
}

BRIEFS: dict[str, dict[str, str]] = {
    "cover": {
        "art": "Tansy and the pail, both arms round it.\n"
        "Large enough to be seen across a shop.\n"
        "The title carries the front, with two moons in it.",
        "never": "The ending must not be seen.",
        "links": "https://thimblereed.example/house/covers-of-last-autumn",
    },
    "4-5": {
        "art": "We meet Tansy here: near enough to read her face.\nHer own door, and the path that leaves it.",
        "text": "Tansy took the big pail out,\nand nobody asked her why.",
    },
    "6-7": {
        "art": "The pail almost touches the moon on the water.\nThe reflection is whole, for the last time.",
        "text": "There it lay, as round as bread,\nand not one ripple in it.",
        "never": "The heron is not met before page 12.",
    },
    "8-9": {
        "art": "From above, into the pail.\nHer face and the moon in one look.",
        "text": "She dipped, and lifted, and looked in.",
    },
    "10-11": {
        "art": "The heavy part of her night: large, and well under way.\nMoths come to the light.",
        "text": "Up the hill the pail grew heavy,\nand the night grew wide.",
    },
    "12-13": {
        "art": "Old Heron bends right down and looks into the pail.\nTansy holds on to it, and looks worried.",
        "text": "“Is that mine?” said the heron.",
    },
    "14-15": {
        "art": "Under the ferns; it is darkest here.\nThe pail lights her face from below.",
        "text": "Under the ferns she whispered,\n“It is not far.”",
    },
    "16-17": {
        "art": "A signpost with two boards, one of them HOME.\nAir on both sides of the post.",
        "text": "Two ways there were, and one said HOME.",
    },
    "18-19": {
        "art": "A ferryman without a ferry: a toad, and dignified.\nHe carries what ferrymen carry.",
        "text": "“No boat tonight,” said the toad. “But I know how to wade.”",
    },
}

# The text grew after the second letter, so the brief did.
LONGER_HILL = {
    "art": "The heavy part of her night: large, and well under way.\n"
    "A few moths come to the light, none before her face.\n"
    "Pocket climbs behind her, always as far away.",
    "text": "Up the hill the pail grew heavy,\nand the night grew wide.\n“Is it much further?” asked Pocket.",
}
