"""Checks records against the schema. Usage: check_schema.py [--strict] SCHEMA RECORD...
--strict: every key of the record has to be described."""
import json
import sys

import jsonschema


def forbid_undescribed(node):
    if isinstance(node, dict):
        if "properties" in node and node.get("type") == "object":
            node["additionalProperties"] = False
        for child in node.values():
            forbid_undescribed(child)
    elif isinstance(node, list):
        for child in node:
            forbid_undescribed(child)


arguments = sys.argv[1:]
strict = arguments[0] == "--strict"
with open(arguments[strict], encoding="utf-8") as file:
    schema = json.load(file)
jsonschema.Draft202012Validator.check_schema(schema)
if strict:
    forbid_undescribed(schema)
failed = False
for name in arguments[1 + strict:]:
    with open(name, encoding="utf-8") as file:
        record = json.load(file, parse_constant=lambda word: sys.exit(f"{name}: {word} is no JSON"))
    for error in jsonschema.Draft202012Validator(schema).iter_errors(record):
        failed = True
        print(f"{name}: {error.json_path}: {error.message}")
sys.exit(failed)
