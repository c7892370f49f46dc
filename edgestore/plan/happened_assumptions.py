"""What the answer to what happened rests on, in sentences."""

LOCKED_ASSUMPTION = (
    "Where the camera list states a locked_fraction, the retention planned is that of the space that locked clips "
    "leave. The high end of the band, and when a card is full, are those of the whole card. Up to one and a half times "
    "that part of what is recorded, the oldest stretches are taken for locked clips where the footage goes back "
    "further than the card holds by plan: they may as well be what was recorded before an outage, which is told. The "
    "mean that follows is that of all that is recorded, these clips among it. Where none stand apart, clips of which "
    "no answer tells are counted as a doubt about it."
)

ASSUMPTIONS = (
    "Retention achieved: the age of the oldest footage by the camera's own clock. A card whose oldest footage is of "
    "the day on which it was fitted is not yet full: it will hold more. One that has been in the camera for less than "
    "it takes to fill by plan may not be full either: recording may have begun late, or the card have been formatted. "
    "Where no history covers the footage only a summary tells its age: the oldest may be a single clip that is locked.",
    "The mean that follows: usable capacity over the hours recorded of those held, by the saved history; without a "
    "history, all hours of a camera that records without a break, and the planned fraction of another. Of a history "
    "that begins later than the footage only the part that it covers counts; one that begins with an end of data is "
    "taken to cover all.",
    "What is expected of the mean now: what was known before, weighed in the logarithm with what follows, by how well "
    "each is known. A card of a week averages out the hours; other weeks and the true capacity (full_card of "
    "[beliefs]) stay in doubt. Nothing is learnt of a camera that does not record, of a mean above the cap, or of one "
    "so far off that even a mistaken list would rarely have it (eight in ten of such are within a factor of 5); nor of "
    "footage that goes back farther than planned where no history covers it: the oldest may be a single clip that is "
    "locked; nor that a mean is lower than planned where no history shows that the camera recorded all the time.",
    "Two rates: the mean of the plan is the one that days are computed with, or the cap where no mean is known; the "
    "mean expected is the middle of what is believed of the true mean, which the cap limits, with nine in ten in "
    "brackets.",
    "Gaps: of a card that is full and has gaps the days achieved are those of its footage, as if it had recorded "
    "without a break; in brackets stands how far back its footage goes.",
    "Times are those of the camera's clock, told in the time zone that the camera list states for it, else in UTC. The "
    "part recorded counts until its clock when it answered, or its newest footage where it was not asked for its clock "
    "or has stopped; so do the hours of the day.",
    "Cards: failures and survivors of the service log, with what was known before. Failures expected: by what was "
    "known without the log, of cards that served as long as these did.",
    "Locked clips: a range that is locked against overwriting takes room, and looks like a higher rate. ONVIF's "
    "Recording Control keeps locks for a later version, so that no answer tells of them: look at the camera.",
    "How long the camera is set to keep footage is read where that was saved (MaximumRetentionTime of Recording "
    "Control), and then counts before what the camera list says.",
)
