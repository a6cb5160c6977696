"""Reading a page's form the way a browser would fill it in and send it back."""

from html.parser import HTMLParser


class _Fields(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[tuple[str, dict[str, str]]] = []
        self._select = ""
        self._area = ""
        self._first = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append((given.get("action", ""), {}))
        if not self.forms:
            return
        fields = self.forms[-1][1]
        name = given.get("name", "")
        if tag == "input" and name and given.get("type") not in ("checkbox", "radio", "submit"):
            fields[name] = given.get("value", "")
        elif tag == "input" and name and "checked" in given:
            fields[name] = given.get("value", "on")
        elif tag == "textarea":
            self._area, fields[name] = name, ""
        elif tag == "select":
            self._select, self._first = name, True
        elif tag == "option" and self._select and (self._first or "selected" in given):
            fields[self._select] = given.get("value", "")
            self._first = False

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""
        if tag == "select":
            self._select = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.forms[-1][1][self._area] += data


def filled_form(html: str, action: str) -> dict[str, str]:
    """The fields of the form that is sent to an address, as the page shows them."""
    reader = _Fields()
    reader.feed(html)
    return next(fields for sent_to, fields in reader.forms if sent_to == action)
