"""An app behind a real socket, served by a thread of the tests' own process."""

import socket
import threading
from contextlib import contextmanager

import uvicorn

from service.api.wire import ProblemProtocol


@contextmanager
def serving(app, **options):
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()  # who calls before the server is ready waits for it
        server = uvicorn.Server(
            uvicorn.Config(app, log_level="critical", lifespan="on", http=ProblemProtocol, **options)
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield "http://{}:{}".format(*listener.getsockname())
        finally:
            server.should_exit = True
            thread.join()
