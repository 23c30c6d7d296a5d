"""The socket that a server listens on."""

import socket

from shared_schema.errors import StorageError

__all__ = ["listen"]


def listen(host: str, port: int) -> socket.socket:
    """A socket that is bound; port 0 takes any that is free. Raises StorageError where it cannot be had.

    Its protocol is named: of one without, asyncio does not know that it may tell the system to send at once, and the last small
    part of every answer waits 40 ms.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise StorageError(f"port {port} of {host} cannot be used: {error.strerror}: choose another with --port") from error
    return listening
