"""A cable between tablets and a server that breaks at a chosen byte of a message, when something was done: a kill, as a rule."""

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

__all__ = ["Cable", "Way", "laid_cable"]

Way: TypeAlias = Literal["up", "down"]

_LARGE: Final = 10_000
_CHUNK: Final = 4_096


@dataclass
class Cable:
    """Whoever calls `url` reaches the server at `port`. Who calls while nobody listens there is cut off."""

    url: str
    port: int = 0
    ends: list[socket.socket] = field(default_factory=list)
    one_way: threading.Lock = field(default_factory=threading.Lock)
    """Held while something passes or is done, so that no answer slips by while somebody is being killed."""
    _plan: tuple[Way, float, Callable[[], None]] | None = None
    _done: threading.Event = field(default_factory=threading.Event)

    def plan(self, way: Way, share: float, deed: Callable[[], None]) -> threading.Event:
        """Do something once, when this share of the next large body has passed, then break; gives the sign that it was done."""
        self._done = threading.Event()
        self._plan = (way, share, deed)
        return self._done

    def forget(self) -> None:
        """What was planned and did not come to pass is off."""
        self._plan = None

    def passing(self, way: Way, passed: int, total: int) -> bool:
        """So much of a body has passed: do what is planned for this; gives whether that was now."""
        plan = self._plan
        if plan is None or plan[0] != way or total <= _LARGE or passed < plan[1] * total:
            return False
        self._plan = None
        plan[2]()
        self._done.set()
        for end in self.ends:
            _hang_up(end)
        return True


@contextmanager
def laid_cable() -> Iterator[Cable]:
    """A cable for as long as it is needed."""
    with ExitStack() as opened, socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        cable = Cable(f"http://127.0.0.1:{listening.getsockname()[1]}")
        threads: list[threading.Thread] = []

        def answer() -> None:
            while True:
                try:
                    tablet, _ = listening.accept()
                except OSError:
                    return
                opened.enter_context(tablet)
                server = opened.enter_context(socket.socket())
                cable.ends += [tablet, server]
                try:
                    server.connect(("127.0.0.1", cable.port))
                except OSError:
                    _hang_up(tablet)
                    continue
                threads.append(_begun(_pump, cable, "up", tablet, server))
                threads.append(_begun(_pump, cable, "down", server, tablet))

        accepting = _begun(answer)
        try:
            yield cable
        finally:
            _hang_up(listening)
            accepting.join()
            for end in cable.ends:
                _hang_up(end)
            for thread in threads:
                thread.join()


def _begun(work: Callable[..., None], *arguments: object) -> threading.Thread:
    thread = threading.Thread(target=work, args=arguments)
    thread.start()
    return thread


def _pump(cable: Cable, way: Way, source: socket.socket, sink: socket.socket) -> None:
    """Pass on what comes, until somebody hangs up, or something planned happens: then what is under way is lost."""
    head, passed, total = b"", 0, 0
    with suppress(OSError):
        while data := source.recv(_CHUNK):
            before = passed
            if passed < total:
                passed += len(data)
            else:
                head += data
                start = head.find(b"\r\n\r\n")
                if start >= 0:
                    before, passed, total, head = 0, len(head) - start - 4, _length(head[:start]), b""
            with cable.one_way:
                if cable.passing(way, before, total):
                    break
                sink.sendall(data)
                if passed >= total and cable.passing(way, passed, total):
                    break
    _hang_up(source)
    _hang_up(sink)


def _length(head: bytes) -> int:
    for line in head.lower().split(b"\r\n"):
        if line.startswith(b"content-length:"):
            return int(line.partition(b":")[2])
    return 0


def _hang_up(end: socket.socket) -> None:
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
