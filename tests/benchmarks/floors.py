"""The floors: the least a Textual program can be. `python -m tests.benchmarks.floors bare|form` runs one."""

import os
import sys

os.environ["TEXTUAL_FPS"] = "120"
os.environ["TEXTUAL_ANIMATIONS"] = "none"


def bare() -> None:
    """One Static."""
    from textual.app import App, ComposeResult
    from textual.widgets import Static

    class Bare(App[None]):
        def compose(self) -> ComposeResult:
            yield Static("floor is drawn")

    Bare().run()


def form() -> None:
    """Header, footer, list and input: what a form costs before it does anything. Counts keys into the list's place."""
    from textual.app import App, ComposeResult
    from textual.binding import Binding
    from textual.widgets import Footer, Header, Input, Label, ListItem, ListView, Static

    class Form(App[None]):
        BINDINGS = [Binding(f"f{n}", "app.bell", f"key {n}") for n in range(2, 9)]  # noqa: RUF012
        count = 0

        def compose(self) -> ComposeResult:
            yield Header()
            yield Static("floor is drawn", id="count")
            yield ListView(*(ListItem(Label(f"row {n}")) for n in range(40)))
            yield Input()
            yield Footer()

        def on_mount(self) -> None:
            self.query_one(Input).focus()

        def on_input_submitted(self) -> None:
            self.count += 1
            self.query_one("#count", Static).update(f"count is {self.count:05d}")

    Form().run()


if __name__ == "__main__":
    {"bare": bare, "form": form}[sys.argv[1]]()
