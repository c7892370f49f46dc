"""What is asked of every offer, checked on delivery and after fitting, and depended on: brand-neutral texts.

Trade facts here are common practice, no source, but where one is named.
"""

from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.inputs.settings import CardSpecification

ON_DELIVERY = (
    ("Count, marks and serial numbers", "the lot is complete; marks on the cards are those asked; serials are listed"),
    (
        "True capacity, cards tried in full",
        "a pattern that fills the whole card reads back without a fault, and as much as asked can be written",
    ),
    (
        "Sustained writing, cards tried in full",
        "written full in one go, no second is slower than the write rate asked of the lot",
    ),
    ("One revision", "all cards of the lot report the same revision of flash and firmware"),
)
"""Check, and when it passes."""

AFTER_FITTING = (
    ("Seated", "the card is home in its slot, the cover closes by itself, and the seals sit where they were"),
    ("Recording", "the camera reports that it records to the card, with the stream and cap of section {rates}"),
    ("Played back", "a clip from the card plays back, with the right time"),
    (
        "Alarm",
        "with the card taken out the camera reports failed storage, and once it is back, that it records",
    ),
    ("Written down", "camera, card, serial, date and who fitted it stand in the service log"),
)
"""Check, and when it passes; {rates} stands for the number of the section on rates."""

DEPENDS_ON = (
    "The cameras keep the streams, caps and recording modes of section {rates}: a change writes more or less, and the"
    " plan is made again.",
    "Storage alarms of the cameras reach somebody who acts on them.",
    "Access, lifts and permits for the visits, and power and network that are safe to work at.",
    "The service log is kept: it is what later dates and later orders learn from.",
    "Who may see and keep the footage is settled, by local law.",
)
"""What has to come from the buyer; {rates} as above."""

OF_OFFERS = (
    ("Form factor", "as the camera's slot takes it, without an adapter: see the camera's manual"),
    ("Temperature", ""),
    ("Humidity", ""),
    ("Kept without power", "state for how long the card keeps its data, new and at the end of its endurance"),
    ("Endurance, how tested", "state the load: size of files and of updates, and at which rate hours are counted"),
    ("Warranty", ""),
    ("Health", "state how the card tells its wear, and what the figure means"),
    ("Notice of change", "before flash, controller or firmware change under the same part number"),
    ("Batch and serials", "listed with each delivery"),
    ("Data sheet", "of this very capacity, with endurance, speed marks and temperature range"),
)
"""What is asked of every card, and how much; empty where the settings say it."""


def asked_of_offers(asked: CardSpecification, language: Language = IN_ENGLISH) -> list[tuple[str, str]]:
    """Give what is asked of every card, whatever its lot: what, and how much.

    Parameters
    ----------
    asked : CardSpecification
        Temperatures, humidity and warranty that the settings state.
    language : Language
        Language of the texts.

    Returns
    -------
    list of (str, str)
        Rows of the table that a bidder fills in.
    """
    say = language.say
    ends = [
        None if end is None else f"{end:g}".replace("-", "\N{MINUS SIGN}")
        for end in (asked.temperature_low_c, asked.temperature_high_c)
    ]
    temperature = say("what the housing reaches, inside, in sun and frost")
    if ends != [None, None]:
        low, high = (end or say("as usual") for end in ends)
        temperature = say("{low} to {high} °C while recording", low=low, high=high)
    humidity = say("state the range, and whether dew is allowed")
    if asked.humidity_high_percent is not None:
        highest = f"{asked.humidity_high_percent:g}"
        humidity = say("up to {highest} % relative humidity while recording, without dew", highest=highest)
    warranty = say("state the years; state whether wear by recording is covered")
    if asked.warranty_years is not None:
        warranty = say(
            "{years} years or more, for recording video without a break; state whether wear by recording is covered",
            years=f"{asked.warranty_years:g}",
        )
    rows = {what: say(much) if much else "" for what, much in OF_OFFERS} | {
        "Temperature": temperature,
        "Humidity": humidity,
        "Warranty": warranty,
    }
    return [(say(what), much) for what, much in rows.items()]
