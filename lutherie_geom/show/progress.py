"""A long study in a notebook: how far it is, how long it still takes, and a button that stops it with what is there.

    watch = Watch(partial(run, model, 20, 10**7, 1))
    watch.show()          # in a notebook: a bar, a line of words, a Stop button; the notebook stays free for other cells
    watch.result          # waits for the end, then gives what the study gave

Without widgets the same with ``watch.print()``: a line now and then; a keyboard interrupt (the stop button of the notebook
itself, or Ctrl-C) stops the study as the button does.

The study is called as ``study(progress=..., stop=...)`` in a thread of its own: :func:`lutherie_geom.studies.sampling.run` and
:func:`~lutherie_geom.studies.sobol.indices` are such studies once their other arguments are filled in.
"""

from __future__ import annotations

import html
import threading
import time
import traceback
from collections.abc import Callable
from typing import Any

from lutherie_geom.studies.sampling import Run

__all__ = ["Watch", "time_left", "worth"]

EVERY = 0.25  # s between two looks of the panel: what moves faster cannot be read


def time_left(done: int, asked: int, seconds: float) -> str:
    """What is still to come, in words: ``done`` of ``asked`` were read in so many ``seconds`` [s]. Empty while too early."""
    if not 0 < done < asked or seconds < 0.5:
        return ""
    left = seconds * (asked - done) / done
    if left < 1.5:
        return "about 1 s left"
    if left < 90:
        return f"about {left:.0f} s left"
    return f"about {left / 60:.0f} min left" if left < 5400 else f"about {left / 3600:.1f} h left"


def worth(found: Any) -> str:
    """What a result is worth, in words: whether all was read, and how far its shares are to be trusted."""
    if not isinstance(found, Run):
        return "Finished."
    read = f"Finished: all {found.asked:,} instruments were read" if found.complete else \
        f"Stopped: {found.samples:,} of {found.asked:,} instruments were read, the result is of these"
    # A share errs most when half of all are inside: standard error 50/sqrt(n) in 100, and twice that covers 95 in 100.
    reach = float(f"{100 / found.samples**0.5:.1g}")
    return f"{read}. A share is known to about {reach:g} in 100, 95 times in 100."


class Watch:
    """One study at work. Started once, by :meth:`show`, :meth:`print` or :meth:`start`.

    study  called with ``progress(done, asked)`` and ``stop`` (a threading.Event); what it returns is the ``result``
    say    makes the last line from the result; without it :func:`worth`
    noun   what is counted
    """

    def __init__(self, study: Callable[..., Any], *, say: Callable[[Any], str] = worth, noun: str = "instruments") -> None:
        self._study, self._say, self._noun = study, say, noun
        self._stop, self._ended = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None
        self._panel: Callable[[], None] | None = None
        self._began = self._looked = 0.0
        self.done = self.asked = 0
        self.error: Exception | None = None
        self._result: Any = None
        self.text = f"No {noun} read yet."

    @property
    def running(self) -> bool:
        """Whether the study is at work."""
        return self._thread is not None and not self._ended.is_set()

    @property
    def result(self) -> Any:
        """What the study gave; waits for its end (in a notebook the Stop button waits, too), and raises the study's own error."""
        self.start()
        self._ended.wait()
        if self.error is not None:
            raise self.error
        return self._result

    def start(self) -> None:
        """Start the study, once; later calls change nothing."""
        if self._thread is None:
            self._began = time.monotonic()
            self._thread = threading.Thread(target=self._work, name="study", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """Ask the study to end with what it has read."""
        self._stop.set()

    def show(self) -> None:
        """Start, and show the panel: a bar, a line of words, a Stop button that Tab reaches and Space presses."""
        from IPython import display as notebook

        display: Any = notebook.display
        panel = self._widgets()
        bundle: dict[str, Any] = dict(panel._repr_mimebundle_())
        bundle["text/plain"] = self.text  # for a page without scripts, and the same at every run
        display(bundle, raw=True)
        self.start()

    def print(self, every: float = 2.0) -> Any:
        """Start, print a line every so many seconds [s] and the last one, and give the result."""
        self.start()
        try:
            while not self._ended.wait(every):
                print(self.text, flush=True)
        except KeyboardInterrupt:
            self.stop()
            self._ended.wait()
        print(self.text, flush=True)
        return self.result

    def _work(self) -> None:
        try:
            self._result = self._study(progress=self._progress, stop=self._stop)
            self.text = self._say(self._result)
        except InterruptedError as early:
            self.error, self.text = early, f"Stopped: {early}."
        except Exception as error:  # whatever it is, the reader must see it: a thread has no other place to say it
            self.error = error
            self.text = f"The study ended with an error. {type(error).__name__}: {error}"
        finally:
            self._ended.set()
            if self._panel is not None:
                self._panel()

    def _progress(self, done: int, asked: int) -> None:
        self.done, self.asked = done, asked
        now = time.monotonic()
        if now - self._looked < EVERY:
            return
        self._looked = now
        left = "stopping" if self._stop.is_set() else time_left(done, asked, now - self._began)
        self.text = ", ".join(filter(None, [f"{done:,} of {asked:,} {self._noun} read", left])) + "."
        if self._panel is not None:
            self._panel()

    def _widgets(self) -> Any:
        """The panel; updated from the study's thread, so that the kernel is free to hear the button."""
        import ipywidgets

        bar = ipywidgets.FloatProgress(min=0.0, max=1.0, layout=ipywidgets.Layout(width="100%", max_width="44em"))
        words = ipywidgets.HTML()
        button = ipywidgets.Button(description="Stop", icon="stop", tooltip="Stop here and keep what has been read so far")
        button.on_click(lambda _: self._pressed())

        def panel() -> None:
            bar.value = self.done / self.asked if self.asked else 0.0
            bar.tooltip = self.text
            button.disabled = self._stop.is_set() or self._ended.is_set()
            # Only the end is announced: a voice that counts along would never be silent.
            role = "alert" if self.error is not None else "status" if self._ended.is_set() else ""
            words.value = f'<p{f" role={role!r}" if role else ""}>{html.escape(self.text)}</p>' + self._trace()

        self._panel, self._button, self._bar, self._words = panel, button, bar, words
        panel()
        return ipywidgets.VBox([bar, words, button])

    def _pressed(self) -> None:
        self.stop()
        self._button.disabled = True

    def _trace(self) -> str:
        if self.error is None or isinstance(self.error, InterruptedError):
            return ""
        trace = html.escape("".join(traceback.format_exception(self.error)))
        return f"<details><summary>where it happened</summary><pre>{trace}</pre></details>"
