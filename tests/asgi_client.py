"""A caller of the app inside of the tests' own process."""

import asyncio

import httpx


class Client:
    """A caller of one app over ASGI, in step with the tests; a failure of the app is an answer, as to any client."""

    def __init__(self, app):
        self.app = app
        self._runner = asyncio.Runner()
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        self._http = httpx.AsyncClient(transport=transport, base_url="http://service.test")

    def request(self, method, path, **arguments):
        return self._runner.run(self._http.request(method, path, **arguments))

    def get(self, path, **arguments):
        return self.request("GET", path, **arguments)

    def post(self, path, json, **arguments):
        return self.request("POST", path, json=json, **arguments)

    def put(self, path, json, **arguments):
        return self.request("PUT", path, json=json, **arguments)

    def delete(self, path, **arguments):
        return self.request("DELETE", path, **arguments)

    def send_text(self, text, path="/v1/evaluations"):
        """A body as it is, for what a JSON writer would not write."""
        content = text if isinstance(text, bytes) else text.encode()
        return self.request("POST", path, content=content, headers={"Content-Type": "application/json"})

    def evaluate(self, **request):
        return self.post("/v1/evaluations", request)

    def close(self):
        self._runner.run(self._http.aclose())
        self._runner.close()
        self.app.state.service.close()
