"""The morning's order of questions, gas last; an order of common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from maintain.services.battle_day.aboard import Place

_SAFETY_OFFICER = "safety officer"
_TECHNICAL_OFFICER = "technical officer"
_EYES = "balls ricochet off hulls and water; the safety officer decides which grade of eye wear, and stops the firing"
_BLEED = "never tape, tighten or hold a leak under pressure: shut the bottle, bleed, then mend"
_FIRING = "only in the designated area, eye wear on, nobody in front; pins back at once"


@dataclass(frozen=True)
class Topic:
    """
    Something the morning asks about.

    Attributes
    ----------
    name : str
        One or two words.
    asks : str
        The question; {where} is the position.
    how : str
        How it is tested.
    picks : function, optional
        Which positions it is about; None: the ship as a whole.
    measure : str, optional
        What the test measures, where it gives a figure.
    mode : str
        What a part that fails it has most likely done.
    always : bool
        True: asked of the ship as a whole where no position is picked.
    goes_with : str, optional
        The system without which it is not asked.
    together : bool
        True: one question for all positions picked, under the first of them.
    safety : bool
        True: while it is open, a safety item is open.
    dated : bool
        True: it asks whether a part is in date, which a certificate on record may contradict.
    decider : str
        Who decides.
    cautions : tuple of str
    """

    name: str
    asks: str
    how: str
    picks: Callable[[Place], bool] | None = None
    measure: str | None = None
    mode: str = "dead"
    always: bool = False
    goes_with: str | None = None
    together: bool = False
    safety: bool = False
    dated: bool = False
    decider: str = "captain"
    cautions: tuple[str, ...] = ()


LINE_PER_DEPTH = 1.5  # of a recovery line (common practice, no source)
OTHER = "function"  # of a position that no question of its own is about

MORNING = (
    Topic(
        "eye wear",
        "is eye wear on: yours, and everybody's near a ship under pressure?",
        "look around before any bottle is opened",
        always=True,
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(_EYES,),
    ),
    Topic(
        "battery",
        "{where}: does it hold its volts under load?",
        "drives full ahead for 10 s, meter on the battery",
        picks=lambda each: each.is_a("battery"),
        measure="loaded volts",
        mode="won't hold charge",
        cautions=(
            "swollen, hot, smelling or once flooded: not used, not charged, outdoors away from people and anything "
            "that burns; if it smokes, the fire service",
        ),
    ),
    Topic(
        "transmitter",
        "is the transmitter charged, and on this ship's model memory?",
        "read its battery and the model's name; look at the trims",
        always=True,
    ),
    Topic(
        "range",
        "does she answer 40 to 50 paces off?",
        "a helper walks her away, low-power mode where the set has one; count the paces",
        picks=lambda each: each.is_a("receiver"),
        measure="range",
        mode="no signal",
        always=True,
        safety=True,
        decider=_TECHNICAL_OFFICER,
    ),
    Topic(
        "failsafe",
        "transmitter off: do the drives stop, do the guns stay silent, does the pump do as intended?",
        "drives running, switch the transmitter off and watch; a setting that is lost when a receiver is bound anew",
        picks=lambda each: "failsafe" in each.name.lower(),
        mode="erratic",
        always=True,
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=("pins in, and no gas in the ship, while it is tried",),
    ),
    Topic(
        "rudder",
        "{where}: does it sweep from stop to stop without a chatter, and come back to the middle?",
        "five full sweeps, listening",
        picks=lambda each: each.system == "steering" and each.is_a("servo"),
        measure="servo current",
        mode="erratic",
    ),
    Topic(
        "drive",
        "{where}: does it run ahead and astern, clean and cool?",
        "30 s each way; listen, feel for warmth, tug the propeller",
        picks=lambda each: each.system == "propulsion" and each.is_a("motor"),
        mode="slow",
        cautions=("fingers, sleeves and hair clear of the propeller",),
    ),
    Topic(
        "speed controller",
        "{where}: does it give full ahead, full astern and stop?",
        "under load, from the transmitter",
        picks=lambda each: each.is_a("speed controller"),
        mode="erratic",
    ),
    Topic(
        "pump",
        "{where}: a mug of water in: does it prime by itself and throw a full stream?",
        "started from the transmitter, not by hand; time a litre; again with bow down and stern down",
        picks=lambda each: each.system == "pumping" and each.is_a("pump"),
        measure="pump seconds per litre",
        mode="won't prime",
    ),
    Topic(
        "float switch",
        "{where}: flooded, does it start the pump?",
        "flood her, don't lift the float: lifting proves only the wire",
        picks=lambda each: each.system == "pumping" and "float" in each.name.lower(),
    ),
    Topic(
        "leak",
        "five minutes afloat at fighting weight: still dry under the shafts and rudder tubes?",
        "dry paper under every tube; more than a few drops is a defect",
        picks=lambda each: each.zone == "external" and (each.is_a("seal") or each.is_a("shaft")),
        measure="leak test",
        mode="leaks water",
        always=True,
        together=True,
        cautions=("nobody wades alone; cold water and scum: the venue decides on entering it",),
    ),
    Topic(
        "box",
        "{where}: lid closed all round, dry tissue inside, feed-throughs greased?",
        "pinch a strip of paper under the lid and pull, all round",
        picks=lambda each: each.zone == "sealed box" and each.is_a("seal"),
        mode="leaks water",
    ),
    Topic(
        "line",
        "is the float free, its line tied and long enough for this pond, the eye on the hull not rusty?",
        "tilt her: the float drops out; pull hard at the eye; line at least 1.5 times the deepest water",
        picks=lambda each: each.system == "recovery",
        measure="line pull",
        mode="came off",
        always=True,
        together=True,
        safety=True,
        decider=_TECHNICAL_OFFICER,
    ),
    Topic(
        "skin",
        "is the skin whole, dry, and soft enough for the drop test if this battle is sanctioned?",
        "look through with a torch inside; drop test as the rules say",
        always=True,
        decider=_TECHNICAL_OFFICER,
    ),
    Topic(
        OTHER,
        "{where}: does it do its job when asked to?",
        "ask for it: what hides or what she can't do without is only known to work when it was tried",
        picks=lambda each: each.system not in ("gas", "guns") and (each.hidden or each.dependence == "vital"),
    ),
    Topic(
        "pins",
        "is the safety pin in every gun, and tethered?",
        "touch each one",
        goes_with="guns",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=("from here on she is under pressure: pins out only in the designated area",),
    ),
    Topic(
        "bottle",
        "{where}: in date, its valve tight in the bottle, weighed after the fill?",
        "read the stamp; turn it in by hand and watch that the valve doesn't turn in the bottle; weigh it",
        picks=lambda each: each.system == "gas" and each.is_a("cylinder"),
        measure="bottle weight",
        mode="leaks gas",
        safety=True,
        dated=True,
        decider="licensed cylinder inspector",
        cautions=(
            "out of date: neither filled nor used; a valve that turns with the bottle can launch it: send it away",
            "CO2 burns cold skin and chokes in a closed car; filled by trained people only",
        ),
    ),
    Topic(
        "shut-off",
        "{where}: shut, does it hold the gas back?",
        "shut it with the ship under pressure, fire once, watch the gauge stay down",
        picks=lambda each: each.system == "gas" and each.is_a("valve"),
        mode="leaks gas",
        safety=True,
        decider=_SAFETY_OFFICER,
    ),
    Topic(
        "pressure",
        "{where}: is the gauge behind it within the rule?",
        "test gauge on the port, full bottle",
        picks=lambda each: each.system == "gas" and each.is_a("regulator"),
        measure="downstream pressure",
        mode="erratic",
        safety=True,
        decider=_TECHNICAL_OFFICER,
        cautions=("too high: shut, bleed, and not used until the technical officer has seen it gauged again",),
    ),
    Topic(
        "creep",
        "{where}: after 2 minutes at rest, how far has the gauge crept?",
        "read it, wait 2 minutes, read it again: the rise in bar",
        picks=lambda each: each.system == "gas" and each.is_a("regulator"),
        measure="regulator creep",
        mode="leaks gas",
        safety=True,
        decider=_TECHNICAL_OFFICER,
        cautions=(_BLEED,),
    ),
    Topic(
        "gas leak",
        "is every hose and fitting tight under leak spray?",
        "spray each joint, look for bubbles; listen",
        goes_with="gas",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(_BLEED,),
    ),
    Topic(
        "gun",
        "{where}: does it fire, and hit the board?",
        "dry first, then five aimed shots; count the hits",
        picks=lambda each: each.system == "guns",
        mode="jams",
        safety=True,
        decider=_SAFETY_OFFICER,
        cautions=(_FIRING,),
    ),
    Topic(
        "gas function",
        "{where}: does it do its job when asked to?",
        "ask for it, as the safety officer says",
        picks=lambda each: each.system == "gas" and (each.hidden or each.dependence == "vital"),
        mode="leaks gas",
        safety=True,
        decider=_SAFETY_OFFICER,
    ),
)
BY_NAME = {topic.name: topic for topic in MORNING}
