"""Invented names: places put together from syllables, people from two lists."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from random import Random

STARTS = (
    "Bwe",
    "Chi",
    "Dwa",
    "Dze",
    "Gum",
    "Kam",
    "Kat",
    "Lis",
    "Luv",
    "Mal",
    "Mph",
    "Nga",
    "Nko",
    "Nth",
    "Pho",
    "Tuw",
)
MIDDLES = ("zu", "isa", "ende", "ala", "ondwe", "iba", "atwa", "olo", "ivwe", "unje", "ekho", "ambe")
ENDS = ("nga", "mbwe", "zi", "la", "ra", "nda", "ka", "wi", "mo", "ne")
GIVEN = (
    "Agness",
    "Alefa",
    "Amina",
    "Beatrice",
    "Blessings",
    "Brian",
    "Chifundo",
    "Dalitso",
    "Dorothy",
    "Edson",
    "Emmanuel",
    "Esnart",
    "Felistas",
    "Foster",
    "Francis",
    "Grace",
    "Hamida",
    "Haswell",
    "Issa",
    "Judith",
    "Khumbo",
    "Lemani",
    "Lughano",
    "Lusungu",
    "Martha",
    "Mayamiko",
    "Memory",
    "Mercy",
    "Mphatso",
    "Mwawi",
    "Ndaona",
    "Nelia",
    "Patuma",
    "Ruth",
    "Stella",
    "Suzgo",
    "Takondwa",
    "Thandiwe",
    "Tiyamike",
    "Towera",
    "Vitumbiko",
    "Wongani",
    "Wyson",
    "Yankho",
    "Zikomo",
)
FAMILY = (
    "Bwanali",
    "Chikwatu",
    "Chimwala",
    "Chiona",
    "Chipeta",
    "Chisale",
    "Chiumia",
    "Dzinyemba",
    "Gondwe",
    "Kalikoti",
    "Kaluwa",
    "Kamphindi",
    "Kapito",
    "Kasamba",
    "Kaunda",
    "Kayuni",
    "Kazembe",
    "Likagwa",
    "Lipenga",
    "Liwewe",
    "Lungu",
    "Malunga",
    "Manda",
    "Matola",
    "Mbewe",
    "Mbwana",
    "Mhango",
    "Msiska",
    "Mtunthama",
    "Mughogho",
    "Mvula",
    "Mzembe",
    "Ndalama",
    "Nkhata",
    "Phiri",
    "Tembo",
    "Zgambo",
    "Zimba",
)


def place_names(rng: Random) -> Iterator[str]:
    """Yield names in random order, no two the same; numbered once all have been used."""
    names = ["".join(parts) for parts in product(STARTS, MIDDLES, ENDS)]
    rng.shuffle(names)
    number = 1
    while True:
        for name in names:
            yield name if number == 1 else f"{name} {number}"
        number += 1
