"""Where records are kept: models, migrations and the mapping between rows and core."""
