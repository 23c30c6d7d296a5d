"""A way to a server that a test can break: it passes bytes on, and hangs up after as many as it is told."""

import socket
import threading
from contextlib import suppress
from typing import Self
from urllib.parse import urlsplit

__all__ = ["Relay"]


class Relay:
    """Listens on a port of its own and passes everything on to the server at `url`.

    `budget` is how many bytes it still lets through to the tablet before it hangs up on everybody; None for any number.
    While `down` it hangs up on whoever calls. `passed` counts the bytes that went to the tablet.
    """

    def __init__(self, url: str) -> None:
        there = urlsplit(url)
        self._there = (str(there.hostname), int(there.port or 80))
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._open: set[socket.socket] = set()
        self.budget: int | None = None
        self.down = False
        self.passed = 0
        self.url = f"http://127.0.0.1:{self._listening.getsockname()[1]}"
        self._threads = [threading.Thread(target=self._listen, daemon=True)]
        self._threads[0].start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        # Closing alone does not wake a thread that waits for a caller.
        with suppress(OSError):
            self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()
        self._hang_up()
        for thread in self._threads:
            thread.join(5)

    def _listen(self) -> None:
        while True:
            try:
                here, _ = self._listening.accept()
            except OSError:
                return
            if self.down:
                here.close()
                continue
            there = socket.create_connection(self._there)
            self._open |= {here, there}
            for source, target, counts in ((here, there, False), (there, here, True)):
                thread = threading.Thread(target=self._pass_on, args=(source, target, counts), daemon=True)
                self._threads.append(thread)
                thread.start()

    def _pass_on(self, source: socket.socket, target: socket.socket, counts: bool) -> None:
        with suppress(OSError):
            while piece := source.recv(4096):
                allowed = self._allowed(piece) if counts else piece
                target.sendall(allowed)
                if len(allowed) < len(piece):
                    self._break()
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def _allowed(self, piece: bytes) -> bytes:
        """As much of it as may still pass."""
        allowed = piece if self.budget is None else piece[: max(0, self.budget - self.passed)]
        self.passed += len(allowed)
        return allowed

    def _break(self) -> None:
        """From now on nobody gets through."""
        self.down = True
        self._hang_up()

    def _hang_up(self) -> None:
        for end in list(self._open):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self._open.clear()
