"""What the hand-outs of the fitting guide say, as text: for tests of theirs."""

import json
import re


def data_of(html):
    """Give what the page for a phone shows."""
    return json.loads(re.search(r'id="data">(.*?)</script>', html, re.DOTALL)[1])


def said_on_the_phone(html):
    """Give all that the page for a phone says, a paragraph each."""
    data = data_of(html)
    texts = [data["typical"], *(text for work in data["works"].values() for text in (*work["tools"], *work["never"]))]
    for part in (*data["steps"], *data["checks"]):
        texts += part.get("parts") or [f"{part['title']}. {part['text']}"]
        texts += [f"Warning: {caution['title']}. {caution['text']}" for caution in part["cautions"]]
    return "".join(f"<p>{text}</p> " for text in texts)


def words_of(html):
    """Give what a page says, a sentence for each block."""
    body = html.partition("<body>")[2]
    if 'id="data"' in body:
        body = said_on_the_phone(body)
    text = re.sub(r"</(li|p|h\d|td|th|figcaption|caption)>", ". ", body)
    return re.sub(r"[.:!?]*\s*\.(\s)", r".\1", re.sub(r"<[^>]+>", " ", text)).replace("&#39;", "'")
