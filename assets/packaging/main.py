"""Where a phone begins: python-for-android runs this file. Elsewhere the command `leadline` does."""

from logbook_app.__main__ import main

if __name__ == "__main__":
    main()
