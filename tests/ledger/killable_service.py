"""A service in a process of its own, to be killed. The process is a fork of one that has imported everything."""

import multiprocessing
import socket
from contextlib import contextmanager

import uvicorn

from service.app import create_app
from service.settings import Settings

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["service.app", "uvicorn"])


def serve(url, pipe):
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()  # whoever calls from now on is answered as soon as the service is ready
        server = uvicorn.Server(uvicorn.Config(create_app(Settings(database_url=url)), log_level="critical"))
        pipe.send(listener.getsockname()[1])
        server.run(sockets=[listener])


@contextmanager
def killable_service(url):
    """The port of a service, and what kills it as ``kill -9`` does."""
    here, there = FORKS.Pipe()
    process = FORKS.Process(target=serve, args=(url, there))
    process.start()
    try:
        yield here.recv(), process.kill
    finally:
        process.kill()
        process.join()
        process.close()
        here.close()
        there.close()
