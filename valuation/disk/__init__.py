"""Files in and out, for everybody: read up to a size and no further; written whole or not at all.

Imports `valuation.errors` alone. Whoever writes a file that a person named goes through `writing`; whoever reads one
through `reading`. Neither follows a name to a device or a pipe.
"""

from valuation.disk.reading import open_to_read, read_at_most
from valuation.disk.writing import new_file, put_in_place, require_place, write_folder, write_whole

__all__ = ["new_file", "open_to_read", "put_in_place", "read_at_most", "require_place", "write_folder", "write_whole"]
