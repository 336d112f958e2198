"""A client of the service for Python programs: typed, patient, waiting (``Client``) or awaited (``AsyncClient``).

It needs httpx (``pip install 'coilgap[client]'``) and nothing else of the service.
"""

from service.client.answers import Held
from service.client.awaited import AsyncClient
from service.client.blocking import Client
from service.client.patience import Patience
from service.client.problems import CoilgapError, ProblemError, UnexpectedAnswerError, UnreachableError

__all__ = [
    "AsyncClient",
    "Client",
    "CoilgapError",
    "Held",
    "Patience",
    "ProblemError",
    "UnexpectedAnswerError",
    "UnreachableError",
]
