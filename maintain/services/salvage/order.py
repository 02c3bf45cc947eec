"""The order of work on a ship that has been under; an order of common practice, no source but where one is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from maintain.records.salvage import BOX
from maintain.services.battle_day.aboard import Place
from maintain.vocabulary import OPENED_FINDINGS, SINKING_CAUSES, TEST_RESULTS

_SAFETY_OFFICER = "safety officer"

# What may be answered to each kind of step.
ANSWERS = {
    "act": ("done", "not done"),
    "look": (*OPENED_FINDINGS, "not seen"),
    "test": (*TEST_RESULTS, "not done"),
    "minutes": ("timed", "unknown"),
    "cause": SINKING_CAUSES,
}


@dataclass(frozen=True)
class Act:
    """
    Something to do on a ship that has been under, or to write down of it.

    Attributes
    ----------
    name : str
        One or two words.
    asks : str
        The question; {where} names the positions it is about.
    how : str
        How it is done.
    kind : str
        Which answers it takes: a key of ANSWERS.
    picks : function, optional
        Which positions it is about, all in one question; None: the ship as a whole.
    always : bool
        True: asked also where no position is picked.
    goes_with : str, optional
        The system without which it is not asked.
    safety : bool
        True: until it is done, a safety item is open.
    decider : str
        Who decides.
    cautions : tuple of str
    """

    name: str
    asks: str
    how: str
    kind: str = "act"
    picks: Callable[[Place], bool] | None = None
    always: bool = False
    goes_with: str | None = None
    safety: bool = False
    decider: str = "captain"
    cautions: tuple[str, ...] = ()


MINUTES, CAUSE, RINSE = "minutes under", "cause", "rinse"

# Before the parts are looked at one by one.
FIRST = (
    Act(
        "people",
        "cease-fire called, nobody in the line of fire, somebody on the bank for whoever wades?",
        "note the clock when she goes under; go in when the safety officer lets you",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(
            "cold water: a minute of gasping, ten minutes of useful strength, an hour to hypothermia, serious below "
            "about 15 °C (public cold-water guidance); nobody wades alone, nobody dives, waders fill",
            "the venue decides on entering the water: keep out of scum and algae, cover cuts, wash; whoever falls ill "
            "in the weeks after tells the doctor of it",
        ),
    ),
    Act(
        "pins",
        "pins back in every gun, muzzles away from people?",
        "touch each one as she comes up; balls out of the magazines once the gas is off",
        goes_with="guns",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=("a wet firing board can fire by itself: eye wear on until the gas is bled off",),
    ),
    Act(
        "lift",
        "lifted slowly and drained, stern down, not shaken?",
        "by the hull and not by the deck; let the water run out at the bank before she is carried",
        cautions=("full of water she weighs several times her own weight: two people",),
    ),
    Act(
        "gas",
        "{where}: shut, bled off, and the bottle out?",
        "shut the bottle, bleed until the gauge reads nothing, then unscrew",
        picks=lambda each: each.system == "gas",
        goes_with="gas",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(
            "nothing is loosened, taped or tightened under pressure; a valve that turns with the bottle can launch it: "
            "stop, and send it to a licensed inspector",
            "CO2 burns cold skin and chokes in a closed car or tent",
        ),
    ),
    Act(
        "power",
        "{where}: every battery disconnected?",
        "the ship's, the receiver's and the pump's, before anything is admired: within 2 minutes of the lift; note how "
        "many it took",
        picks=lambda each: each.is_a("battery"),
        always=True,
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=("current through water eats tracks until it is cut: what is off in time mostly dries out well",),
    ),
    Act(
        MINUTES,
        "how many minutes was she under?",
        "from the clock at the whistle, or the score sheet; that nobody knows is an answer",
        kind="minutes",
    ),
    Act(
        BOX,
        "radio box opened: dry, damp, or water in it?",
        "all hatches off; look before you wipe, and photograph it: {where}",
        kind="look",
        picks=lambda each: each.zone == "sealed box",
    ),
    Act(
        "batteries",
        "{where}: out, wiped, outdoors on sand or tile, away from ships, cars and people?",
        "feel for heat, look for swelling, smell; lead and NiMH: measured, charged slowly and watched",
        picks=lambda each: each.is_a("battery"),
        always=True,
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(
            "lithium that leaked, swelled, smelled or lay in salt water is not charged again: outdoors, 15 m from "
            "anything that burns, watched for days (advice of fire services); if it smokes, the fire service",
            "lead batteries in salt water can give off chlorine; flooded NiMH vents can clog",
        ),
    ),
    Act(
        RINSE,
        "salt, brackish, treated or muddy: rinsed in clean fresh water before anything dried?",
        "keep it wet until it is rinsed, distilled if to hand; salt never dries in",
    ),
)

# After them.
LAST = (
    Act(
        "protection",
        "grease, absorbent, silica and box tape renewed?",
        "soaked foam or paper left in a box keeps it wet",
    ),
    Act(
        CAUSE,
        "why did she sink: holes, a system, trim, the operator?",
        "holes her pump should have carried are a system's; a pump never switched on is the operator's, and no shame",
        kind="cause",
    ),
)
