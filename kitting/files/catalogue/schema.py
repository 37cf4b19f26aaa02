"""The JSON Schema of catalogue files, for editors."""

from __future__ import annotations

import json


def catalogue_schema() -> str:
    """The schema as JSON text (draft 2020-12), in a fixed order."""
    from kitting.files.catalogue.document import Catalogue

    schema = Catalogue.model_json_schema(mode="validation")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True)
