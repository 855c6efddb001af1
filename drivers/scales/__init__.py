"""Scale drivers, generic and described by TOML profiles."""
