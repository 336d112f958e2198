"""The client's types, made from the committed OpenAPI document: run this after the document has changed."""

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
TYPES = ROOT / "service" / "client" / "bodies.py"
HEAD = '''"""What goes over the wire, as the service's own OpenAPI document describes it.

Made by tests/client/described_types.py; do not edit. An answer may hold more than is named here: leave it alone.
"""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypedDict

'''
LEFT_OUT = {"Health"}
PLAIN = {"string": "str", "integer": "int", "number": "float", "boolean": "bool", "null": "None"}


def python_types(document):
    """The module's text before formatting."""
    schemas = document["components"]["schemas"]
    aliases = ["Reading = float | Measured"]
    classes = []
    for name in sorted(set(schemas) - LEFT_OUT):
        schema = schemas[name]
        if schema.get("type") == "object":
            classes.append(typed_dict(name, schema))
        else:
            aliases.append(f"{name} = {written(schema)}")
    parts = document["paths"]["/v1/parts"]["post"]
    new, stored = parts["requestBody"], parts["responses"]["201"]
    for name, body in (("CataloguedPart", new), ("StoredPart", stored)):
        aliases.append(f"{name} = {written(body['content']['application/json']['schema'])}")
    return HEAD + "\n\n".join(classes) + "\n\n" + "\n".join(aliases) + "\n"


def typed_dict(name, schema):
    required = set(schema.get("required", ()))
    lines = []
    for field, of_field in schema.get("properties", {}).items():
        kind = written(of_field)
        lines.append(f"    {field}: {kind if field in required else f'NotRequired[{kind}]'}")
    return f"class {name}(TypedDict):\n" + ("\n".join(lines) or "    pass")


def written(schema):
    """The type of a value that fits a schema."""
    if "$ref" in schema:
        return schema["$ref"].rsplit("/", 1)[-1]
    for words in ("anyOf", "oneOf"):
        if words in schema:
            options = [written(each) for each in schema[words]]
            return "Reading" if options == ["float", "Measured"] else " | ".join(dict.fromkeys(options))
    if "const" in schema or "enum" in schema:
        values = schema.get("enum") or [schema["const"]]
        return f"Literal[{', '.join(json.dumps(value) for value in values)}]"
    if schema.get("type") == "array":
        return f"list[{written(schema.get('items', {}))}]"
    if schema.get("type") == "object":
        inner = schema.get("additionalProperties")
        return f"dict[str, {written(inner) if isinstance(inner, dict) else 'Any'}]"
    return PLAIN.get(schema.get("type"), "Any")


def formatted(text):
    run = [sys.executable, "-m", "ruff", "format", "--stdin-filename", str(TYPES), "-"]
    return subprocess.run(run, input=text, text=True, capture_output=True, check=True, cwd=ROOT).stdout


def module_text():
    document = json.loads((ROOT / "tests" / "openapi.json").read_text(encoding="utf-8"))
    return formatted(python_types(document))


if __name__ == "__main__":
    TYPES.write_text(module_text(), encoding="utf-8")
