"""Reading: strict YAML with positions, schema validation, findings, building the domain objects."""
