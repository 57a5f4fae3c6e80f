"""Plans a turned bowl inside one irregular piece of wood."""
