"""Let ``python -m stell`` be the same as the command ``stell``."""

from stell.cli.main import main

if __name__ == "__main__":
    main()
