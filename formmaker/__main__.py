"""``python -m formmaker``: the same as the command ``formmaker``."""

from formmaker.cli import main

if __name__ == "__main__":
    main(prog_name="formmaker")
