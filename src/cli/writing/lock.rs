//! The lock of a folder: a hidden file beside it, held by one run at a time.

use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::hidden;
use super::refusal::{Refusal, refusal};

/// A folder held by this run alone until it is dropped.
pub(super) struct Lock {
    path: PathBuf,
    /// Locked as long as it is open.
    _file: File,
}

impl Drop for Lock {
    fn drop(&mut self) {
        // While it is still locked, so that nobody locks a file that is gone.
        _ = fs::remove_file(&self.path);
        hidden().paths.retain(|path| *path != self.path);
    }
}

/// What came of trying to lock.
pub(super) enum Locked {
    /// It is held; without a lock where the system knows none.
    Ours(Option<Lock>),
    /// Another run holds it.
    Busy,
}

/// Locks the hidden file beside `out`; `None` where the system knows no locks.
pub(super) fn lock(out: &Path) -> Result<Option<Lock>, Refusal> {
    match try_lock(out)? {
        Locked::Ours(lock) => Ok(lock),
        Locked::Busy => Err(refusal(
            "another run of warpwise is at work on this folder",
            "wait until it has ended (or end its `--watch`), or choose another folder with `--out`",
        )),
    }
}

/// Tries to lock the hidden file beside `folder`.
pub(super) fn try_lock(folder: &Path) -> io::Result<Locked> {
    let name = folder.file_name().unwrap_or_default().to_string_lossy();
    let path = folder.with_file_name(format!(".{name}.warpwise-lock"));
    // The one who held it removes it, so what was opened may be gone by the time it is locked.
    const TRIES: usize = 100;
    for _ in 0..TRIES {
        let mut options = File::options();
        options.create(true).truncate(false).write(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt as _;
            options.custom_flags(rustix::fs::OFlags::NOFOLLOW.bits().cast_signed());
        }
        let file = options.open(&path)?;
        match file.try_lock() {
            Ok(()) if is_at(&file, &path) => {
                hidden().paths.push(path.clone());
                return Ok(Locked::Ours(Some(Lock { path, _file: file })));
            }
            Ok(()) => {}
            Err(fs::TryLockError::WouldBlock) => return Ok(Locked::Busy),
            Err(fs::TryLockError::Error(e)) if knows_no_locks(&e) => {
                _ = fs::remove_file(&path);
                return Ok(Locked::Ours(None));
            }
            Err(fs::TryLockError::Error(e)) => return Err(e),
        }
    }
    Ok(Locked::Busy)
}

/// Whether the system has no locks for files there, as some network drives.
fn knows_no_locks(e: &io::Error) -> bool {
    #[cfg(unix)]
    if e.raw_os_error() == Some(rustix::io::Errno::NOLCK.raw_os_error()) {
        return true;
    }
    e.kind() == ErrorKind::Unsupported
}

/// Whether the open `file` is still the one at `path`.
#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    match (file.metadata(), fs::symlink_metadata(path)) {
        (Ok(open), Ok(there)) => (open.dev(), open.ino()) == (there.dev(), there.ino()),
        _ => false,
    }
}

/// Whether the open `file` is still the one at `path`: an open file cannot be removed here.
#[cfg(not(unix))]
fn is_at(_: &File, path: &Path) -> bool {
    path.exists()
}
