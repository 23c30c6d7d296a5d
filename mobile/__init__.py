"""The tablet."""

import os

# Kivy reads these once, when it is first imported, wherever that is: it would take the program's arguments for its own, and
# let the settings of other programs decide how touches arrive.
os.environ.setdefault("KIVY_NO_ARGS", "1")
os.environ.setdefault("KIVY_NO_CONFIG", "1")
# Pydantic looks through everything that is installed for plug-ins. There are none here, and a start has no time for it.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
