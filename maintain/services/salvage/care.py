"""How each kind of part is looked at, dried and tried after it was under water (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass

_SOLVENT = "alcohol burns: outdoors, away from gas, batteries and flames"
_WATCHED = "switched on only when dry, on the bench, with the current watched"
_PRESSURE = (
    "low pressure first, then a full bottle, gauged: eye wear on; the technical officer sees it before it is used"
)
_PACK = "swollen, hot, smelling or salt-soaked: not charged, outdoors, 15 m from anything that burns"


@dataclass(frozen=True)
class Care:
    """
    What is done with a kind of part.

    Attributes
    ----------
    look : str
        How it is opened, rinsed and dried.
    test : str, optional
        How it is tried alone, before it goes back, a day later and a week later: one that works while wet may be dead
        by spring. None: water does it no lasting harm, or its date decides.
    mode : str
        What one that fails has most likely done.
    look_cautions, test_cautions : tuple of str
    decider : str
        Who decides on it.
    """

    look: str
    test: str | None
    mode: str = "dead"
    look_cautions: tuple[str, ...] = ()
    test_cautions: tuple[str, ...] = ()
    decider: str = "captain"


_FLUSH = "open its case; flush with 90 % alcohol or better, blow gently, warm air below 50 °C for 30 to 120 min, open"


def _electronic(test: str, mode: str) -> Care:
    return Care(_FLUSH, test, mode, look_cautions=(_SOLVENT,), test_cautions=(_WATCHED,))


_MOTOR = Care(
    "spin it dry, displacing spray, a drop of oil at each bush; run it 10 s",
    "30 s each way: listen, feel for warmth, watch the current",
    "noisy",
    test_cautions=("fingers, sleeves and hair clear of what turns",),
)
_WORN_WET = Care("wipe it, look it over, grease it again; by hand: free, tight, no grit", None, "leaks water")

_BY_CATEGORY = {
    "servo": _electronic("20 sweeps from stop to stop: no chatter, back to the middle", "erratic"),
    "receiver": _electronic(
        "alone with a fresh battery: range, every channel, and what it does without a signal", "erratic"
    ),
    "speed controller": _electronic("full ahead, full astern and stop under a small load", "erratic"),
    "switch": _electronic("on and off ten times: no flicker, not hot", "dead"),
    "wiring": Care(
        "unplug, wipe, blow gently; strip back one end: green or black strands go further than they show",
        "wiggle every joint under load: no flicker",
        "corroded",
    ),
    "motor": _MOTOR,
    "pump": Care(
        "open the body: weed, splinters, tissue out; spin the motor dry, spray, a drop of oil",
        "in the tub: does it prime by itself and throw a full stream?",
        "won't prime",
    ),
    "battery": Care(
        "wipe it; cut the shrink of lead and NiMH packs so that they dry; look at plug and balance lead",
        "rest volts now and after an hour; then loaded volts; charged slowly, outdoors, watched",
        "won't hold charge",
        look_cautions=(_PACK,),
        test_cautions=(_PACK,),
        decider="safety officer",
    ),
    "valve": Care(
        "drain and dry it; rust and grit off the poppet; a drop of light oil",
        "click it dry, then on low pressure, then full",
        "jams",
        test_cautions=(_PRESSURE,),
        decider="technical officer",
    ),
    "regulator": Care(
        "drain the bonnet, dry it, look at seat and spring",
        "gauge behind it on low pressure, then full; 2 minutes at rest for creep",
        "erratic",
        test_cautions=(_PRESSURE,),
        decider="technical officer",
    ),
    "cannon": Care(
        "balls out; strip, dry, oil lightly: pins and springs rust overnight",
        "dry-fire it in the designated area",
        "jams",
        look_cautions=("no gas in the ship, pin in, while a gun is open",),
        test_cautions=("only in the designated area, eye wear on, nobody in front; pins back at once",),
        decider="safety officer",
    ),
    "cylinder": Care(
        "wipe the bottle dry; look at its stamp, and whether the valve sits tight in it",
        None,
        "leaks gas",
        look_cautions=("bled off, out of the ship; corroded or gouged: not filled, and to the licensed inspector",),
    ),
    "seal": _WORN_WET,
    "shaft": _WORN_WET,
    "linkage": _WORN_WET,
    "recovery gear": Care(
        "rinse weed and mud off line and float; pull hard at the eye on the hull",
        None,
        "came off",
    ),
}
_OTHER = Care("open it as far as it opens, rinse, dry", "let it do its job, alone on the bench")


def care_of(category: str | None) -> Care:
    """What is done with a part of a category."""
    return _BY_CATEGORY.get(category or "", _OTHER)
