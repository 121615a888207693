"""How large a file becomes when it is read: small files can hold enormous tables."""

import zipfile
from pathlib import Path

from fleet.errors import BadInput


def unpacked_bytes(path: Path) -> int:
    """Bytes of a file's tables once unpacked, as its own directory says; nothing is unpacked.

    Raises BadInput where the directory cannot be read.
    """
    suffix = path.suffix.lower()
    if suffix == ".xlsx":
        try:
            with zipfile.ZipFile(path) as book:
                return sum(part.file_size for part in book.infolist())
        except (zipfile.BadZipFile, OSError):
            raise BadInput(
                f"{path.name} is damaged, protected by a password or no XLSX file; save it again "
                "as XLSX or as CSV"
            ) from None
    if suffix == ".parquet":
        import pyarrow
        import pyarrow.parquet

        try:
            about = pyarrow.parquet.read_metadata(path)
        except (pyarrow.ArrowException, OSError):
            raise BadInput(
                f"{path.name} is damaged or is no Parquet file; write it again or save it as CSV"
            ) from None
        return sum(about.row_group(i).total_byte_size for i in range(about.num_row_groups))
    return path.stat().st_size
