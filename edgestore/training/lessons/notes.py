"""The trainer's notes: for each screen what to ask, the right answer, usual answers and minutes; to print or beside."""

from html import escape

from edgestore.training.lessons.as_html import LETTERS, mistaken
from edgestore.training.lessons.screens import Lesson, Page, Say, Screen, lessons, words


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
    pages = "".join(_page(page, lesson.key, told) for page in lesson.pages)
    minutes = f"{lesson.minutes} {told['minutes']}"
    goal = f"<p id='edgestore-note-{lesson.key}-1'>{told['at_the_end']} {escape(lesson.goal)} ({minutes})</p>"
    return f'<section class="edgestore-notes"><h2>{number}. {escape(lesson.title)}</h2>{goal}{pages}</section>'


def _page(page: Page, key: str, told: dict[str, str]) -> str:
    if page.screen and not page.is_answered:
        return _screen(page.number, key, page.screen, told)
    if not page.cautions:
        return ""
    titles = escape("; ".join(caution.title for caution in page.cautions))
    place = f"<strong>{told['screen']} {page.number}:</strong>"
    return f'<p id="edgestore-note-{key}-{page.number}">{place} {told["warnings"]}: {titles}</p>'


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
