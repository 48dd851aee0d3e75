"""The panel of a long study: it counts, stops with what is there, says errors in words; also in a real kernel."""

from __future__ import annotations

import queue
import threading
import time
from functools import partial

import pytest

from lutherie_geom.show.progress import Watch, time_left, worth
from lutherie_geom.studies.sampling import run
from lutherie_geom.studies.sobol import indices


def slow(u):
    time.sleep(0.01)
    return u[0]


LONG = partial(run, slow, 1, 10**6, 1, scrambles=1, chunk=256)
SHORT = partial(run, slow, 1, 4096, 1, chunk=256)


def until(true, seconds=10.0):
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.01)


@pytest.mark.parametrize(("done", "asked", "seconds", "words"), [
    (0, 100, 9.0, ""), (100, 100, 9.0, ""), (1, 100, 0.1, ""),
    (50, 100, 10.0, "about 10 s left"), (99, 100, 10.0, "about 1 s left"),
    (10, 100, 60.0, "about 9 min left"), (1, 1000, 60.0, "about 16.6 h left"),
])
def test_time_left_in_words(done, asked, seconds, words):
    assert time_left(done, asked, seconds) == words


def test_a_finished_study_gives_its_result_unchanged():
    watch = Watch(SHORT)
    found = watch.result
    assert found.tally.mean[0] == SHORT().tally.mean[0] and not watch.running
    assert watch.text == "Finished: all 4,096 instruments were read. A share is known to about 2 in 100, 95 times in 100."
    assert "about 50 in 100" in worth(run(lambda u: u[0], 1, 4, 1, chunk=4))
    assert worth(indices(lambda u: u[0], 1, 64, 1)) == "Finished."


def test_stop_keeps_what_was_read_and_says_what_it_is_worth():
    watch = Watch(LONG)
    watch.start()
    until(lambda: watch.done > 1000)
    assert watch.running
    watch.stop()
    found = watch.result
    assert not found.complete and 1000 < found.samples < 10**6
    assert f"Stopped: {found.samples:,} of 1,000,000 instruments were read, the result is of these." in watch.text


def test_a_study_that_has_nothing_when_stopped_says_so():
    watch = Watch(partial(indices, slow, 1, 2**16, 1, chunk=256))
    watch.start()
    until(lambda: watch.done > 256)
    watch.stop()
    with pytest.raises(InterruptedError):
        assert watch.result
    assert watch.text.startswith("Stopped: stopped after") or "no indices" in watch.text


def test_the_panel_counts_and_its_button_stops():
    watch = Watch(LONG, say=lambda found: f"{found.samples} <read>")
    panel = watch._widgets()
    bar, words, button = panel.children
    watch.start()
    until(lambda: "of 1,000,000 instruments read" in words.value and "left" in words.value)
    assert 0 < bar.value < 1 and not button.disabled and "role" not in words.value
    assert button.description == "Stop" and button.tooltip
    button.click()
    assert button.disabled
    found = watch.result
    until(lambda: "role='status'" in words.value)
    assert f"{found.samples} &lt;read&gt;" in words.value


def test_an_error_is_said_in_words_and_handed_on():
    def bad(progress, stop):
        raise ValueError("z_p is -3 mm <so deep>: give 0 to 80 mm")

    watch = Watch(bad)
    _, words, button = watch._widgets().children
    with pytest.raises(ValueError, match="z_p is -3 mm"):
        assert watch.result
    until(lambda: "alert" in words.value)
    assert "ended with an error. ValueError: z_p is -3 mm &lt;so deep&gt;" in words.value and button.disabled


def test_without_widgets_lines_are_printed(capsys):
    found = Watch(SHORT, noun="joints").print(every=0.05)
    lines = capsys.readouterr().out.splitlines()
    assert found.complete and lines[-1].startswith("Finished: all 4,096") and len(lines) > 1


def test_without_widgets_an_interrupt_stops(capsys, monkeypatch):
    watch = Watch(LONG)
    wait, calls = watch._ended.wait, []

    def interrupted(timeout=None):
        calls.append(timeout)
        if len(calls) == 2:
            until(lambda: watch.done > 0)
            raise KeyboardInterrupt
        return wait(timeout)

    monkeypatch.setattr(watch._ended, "wait", interrupted)
    assert not watch.print(every=0.01).complete
    assert "Stopped:" in capsys.readouterr().out


def test_it_starts_once():
    calls = []

    def study(progress, stop):
        calls.append(threading.current_thread().name)
        return 3

    watch = Watch(study, say=str)
    watch.start()
    watch.start()
    assert (watch.result, watch.text, calls) == (3, "3", ["study"])


CELL = """
from functools import partial
import time
from lutherie_geom.show.progress import Watch
from lutherie_geom.studies.sampling import run
def slow(u):
    time.sleep(0.01)
    return u[0]
watch = Watch(partial(run, slow, 1, 10**6, 1, scrambles=1, chunk=256))
watch.show()
"""


class Kernel:
    """A real kernel, spoken to as a notebook's page does."""

    def __init__(self):
        from jupyter_client.manager import start_new_kernel

        self.manager, self.client = start_new_kernel(kernel_name="python3")
        self.state: dict[str, dict] = {}  # what the page knows of each widget

    def close(self):
        self.client.stop_channels()
        self.manager.shutdown_kernel(now=True)

    def hear(self, seconds=0.2):
        """Take in one message; its parts, or None."""
        try:
            m = self.client.get_iopub_msg(timeout=seconds)
        except queue.Empty:
            return None
        content = m["content"]
        if m["msg_type"] == "comm_open":
            self.state[content["comm_id"]] = dict(content["data"]["state"])
        elif m["msg_type"] == "comm_msg" and content["data"].get("method") == "update":
            self.state[content["comm_id"]] |= content["data"]["state"]
        return m

    def run(self, code):
        """Run a cell to its end, and give its printed text and its displays."""
        asked, text, shown = self.client.execute(code), "", []
        while True:
            m = self.hear(20.0)
            assert m is not None, "the kernel does not answer"
            if m["parent_header"].get("msg_id") != asked:
                continue
            if m["msg_type"] == "stream":
                text += m["content"]["text"]
            elif m["msg_type"] == "display_data":
                shown.append(m["content"]["data"])
            elif m["msg_type"] == "error":
                raise AssertionError("\n".join(m["content"]["traceback"]))
            elif m["msg_type"] == "status" and m["content"]["execution_state"] == "idle":
                return text, shown

    def widget(self, model):
        return next((i, s) for i, s in self.state.items() if s.get("_model_name") == model)

    def until(self, true, seconds=20.0):
        end = time.monotonic() + seconds
        while not true():
            assert time.monotonic() < end, self.state
            self.hear()

    def press(self, comm):
        data = {"method": "custom", "content": {"event": "click"}}
        self.client.shell_channel.send(self.client.session.msg("comm_msg", {"comm_id": comm, "data": data}))


def test_in_a_real_kernel_the_page_follows_other_cells_run_and_stop_is_heard():
    kernel = Kernel()
    try:
        _, shown = kernel.run(CELL)
        assert shown[0]["text/plain"] == "No instruments read yet." and "application/vnd.jupyter.widget-view+json" in shown[0]
        words = kernel.widget("HTMLModel")[1]
        kernel.until(lambda: "left" in words["value"])
        first = kernel.widget("FloatProgressModel")[1]["value"]
        # The kernel is free: another cell is answered at once, while the study goes on.
        start = time.monotonic()
        assert kernel.run("print(watch.running, 6 * 7)")[0] == "True 42\n"
        assert time.monotonic() - start < 2.0
        kernel.until(lambda: kernel.widget("FloatProgressModel")[1]["value"] > first)
        kernel.press(kernel.widget("ButtonModel")[0])
        kernel.until(lambda: "Stopped:" in words["value"])
        assert kernel.widget("ButtonModel")[1]["disabled"] and "role='status'" in words["value"]
        text, _ = kernel.run("print(watch.running, watch.result.complete, watch.result.samples)")
        running, complete, samples = text.split()
        assert (running, complete) == ("False", "False") and f"{int(samples):,} of 1,000,000" in words["value"]
    finally:
        kernel.close()
