#!/usr/bin/env python3
"""Packs a folder as .tar.gz or .zip: sorted, one time for all files, no names of people. Same files, same bytes.

    python3 .ci/archive.py FOLDER ARCHIVE      with SOURCE_DATE_EPOCH in the environment
"""

import gzip
import io
import os
import sys
import tarfile
import time
import zipfile
from pathlib import Path


def main():
    folder, archive = Path(sys.argv[1]), Path(sys.argv[2])
    when = int(os.environ["SOURCE_DATE_EPOCH"])
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    programs = {"warpwise", "warpwise.exe"}
    if archive.suffix == ".zip":
        with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as packed:
            for path in files:
                name = path.relative_to(folder.parent).as_posix()
                entry = zipfile.ZipInfo(name, time.gmtime(when)[:6])
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = 3
                entry.external_attr = (0o755 if path.name in programs else 0o644) << 16
                packed.writestr(entry, path.read_bytes())
        return
    inner = io.BytesIO()
    with tarfile.open(fileobj=inner, mode="w", format=tarfile.USTAR_FORMAT) as packed:
        for path in files:
            entry = tarfile.TarInfo(path.relative_to(folder.parent).as_posix())
            entry.size, entry.mtime = path.stat().st_size, when
            entry.mode = 0o755 if path.name in programs else 0o644
            packed.addfile(entry, io.BytesIO(path.read_bytes()))
    with open(archive, "wb") as out, gzip.GzipFile("", "wb", 9, out, mtime=when) as packed:
        packed.write(inner.getvalue())


main()
