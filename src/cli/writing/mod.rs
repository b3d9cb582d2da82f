//! What the commands write to the disk: whole or not at all, and over nobody's work.
//!
//! Everything is written beside its place under a hidden name that nobody can guess, brought to
//! the disk, and only then moved into place in one step. [`OutFolder`] is the folder of a plan,
//! [`write_file`] a single file that an option names; both refuse what warpwise did not write.
//! [`HeldShelf`] is a shelf that is kept, to which lines are added.
//!
//! A Ctrl-C that leaves the run may come at any moment. Until the move it takes away what lies hidden; after
//! the move it is too late, and the run ends as if it had not come ([`abandon`]).

mod file;
mod folder;
mod lock;
mod refusal;
mod shelf;

pub(super) use file::{Existing, may_write, write_file};
pub(super) use folder::OutFolder;
pub(super) use shelf::{HeldShelf, ShelfView, file_at, is_shelf, refused};

use std::fs;
use std::hash::{BuildHasher as _, RandomState};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What this process has on the disk that is not in its place yet.
struct Hidden {
    /// Files and folders to take away if the run is left.
    paths: Vec<PathBuf>,
    /// The run is being left: nothing more may be written.
    is_abandoned: bool,
    /// A result is in its place: the run can be left no longer.
    is_in_place: bool,
}

static HIDDEN: Mutex<Hidden> = Mutex::new(Hidden {
    paths: Vec::new(),
    is_abandoned: false,
    is_in_place: false,
});

fn hidden() -> MutexGuard<'static, Hidden> {
    // What a thread that panicked left in it is still true.
    HIDDEN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Leaves the run: takes away what lies hidden and answers `true`, or answers `false` where a
/// result is in its place already. The caller ends the process while the writer waits for good.
pub(super) fn abandon() -> bool {
    let mut hidden = hidden();
    if hidden.is_in_place {
        return false;
    }
    hidden.is_abandoned = true;
    for path in std::mem::take(&mut hidden.paths) {
        _ = remove(&path);
    }
    // Kept locked until the process ends: the writer waits for it before each file.
    std::mem::forget(hidden);
    true
}

/// A result is in its place and the run goes on: from now on it may be left again.
pub(super) fn go_on() {
    hidden().is_in_place = false;
}

/// The next step of writing, unless the run is being left.
fn step<T>(work: impl FnOnce(&mut Hidden) -> io::Result<T>) -> io::Result<T> {
    let mut hidden = hidden();
    if hidden.is_abandoned {
        return Err(io::Error::other("the run was left"));
    }
    work(&mut hidden)
}

/// A hidden name beside `path`, on the same file system, so that moving it is one step. Nobody can
/// guess it, so nobody can put a link there beforehand.
fn sibling(path: &Path, word: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let random = RandomState::new().hash_one(word);
    path.with_file_name(format!("{}{random:016x}", prefix(&name, word)))
}

/// How the hidden names beside `name` begin.
fn prefix(name: &str, word: &str) -> String {
    format!(".{name}.warpwise-{word}-")
}

/// The folder that `path` lies in.
fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Writes a file that must not be there yet and brings it to the disk.
fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = fs::File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Brings the names in `folder` to the disk, where the system can: some network drives, and folders
/// that may be written and not read, cannot.
fn sync_folder(folder: &Path) -> io::Result<()> {
    if !cfg!(unix) {
        return Ok(());
    }
    use io::ErrorKind::{InvalidInput, PermissionDenied, Unsupported};
    match fs::File::open(folder).and_then(|folder| folder.sync_all()) {
        Err(e) if matches!(e.kind(), InvalidInput | PermissionDenied | Unsupported) => Ok(()),
        synced => synced,
    }
}

/// Removes the file or the whole folder at `path`, if there is one.
fn remove(path: &Path) -> io::Result<()> {
    let removed = match fs::symlink_metadata(path) {
        Ok(about) if about.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
        Err(e) => Err(e),
    };
    match removed {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(()),
        other => other,
    }
}
