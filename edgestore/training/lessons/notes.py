"""The trainer's notes: for each screen what to ask, the right answer, usual answers and minutes; to print or beside."""

from html import escape

from edgestore.training.lessons.as_html import LETTERS, mistaken
from edgestore.training.lessons.screens import Lesson, Say, Screen, lessons, words


def notes_html(say: Say = str) -> str:
    """Give the notes of all lessons, made from the same data as the screens.

    Parameters
    ----------
    say : callable
        Gives each text in another language; as it stands when left out.

    Returns
    -------
    str
        HTML without scripts; the element of a screen has the id that the lesson's page calls it by.
    """
    told = words(say)
    return "".join(_lesson(n, lesson, told) for n, lesson in enumerate(lessons(say), start=1))


def _lesson(number: int, lesson: Lesson, told: dict[str, str]) -> str:
    screens = "".join(_screen(n, lesson.key, screen, told) for n, screen in enumerate(lesson.screens, start=2))
    after = "".join(
        f'<p id="edgestore-note-{lesson.key}-{n}"><strong>{told["screen"]} {n}:</strong>'
        f" {told['warnings']}: {escape('; '.join(c.title for c in part))}</p>"
        for n, part in enumerate(lesson.cautions, start=len(lesson.screens) + 2)
    )
    minutes = f"{lesson.minutes} {told['minutes']}"
    goal = f"<p id='edgestore-note-{lesson.key}-1'>{told['at_the_end']} {escape(lesson.goal)} ({minutes})</p>"
    return f'<section class="edgestore-notes"><h2>{number}. {escape(lesson.title)}</h2>{goal}{screens}{after}</section>'


def _screen(number: int, key: str, screen: Screen, told: dict[str, str]) -> str:
    votes = "".join(
        f"<li><strong>{letter} ✓ {escape(answer.text)}</strong></li>"
        if answer.is_right
        else f"<li>{letter} {mistaken(answer)}</li>"
        for letter, answer in zip(LETTERS, screen.answers, strict=False)
    )
    note = screen.note
    return (
        f'<article id="edgestore-note-{key}-{number}">'
        f"<h3>{told['screen']} {number}: {escape(screen.title)} ({note.minutes} {told['minutes']})</h3>"
        f"<p><strong>{told['question']}</strong> {escape(screen.question)}</p><ul>{votes}</ul>"
        f"<p><strong>{told['ask']}</strong> {escape(note.ask)}</p>"
        f"<p><strong>{told['usual']}</strong> {escape(note.usual)}</p>"
        f"<p>{told['source']} {escape(screen.source)}</p></article>"
    )
