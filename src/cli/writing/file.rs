//! A single file that an option names.

use std::fs;
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use super::{folder_of, remove, sibling, step, sync_folder, write_new};
use crate::cli::{Failure, messages};
use crate::diag::{Diagnostic, Place};

/// What may become of a file that is there already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::cli) enum Existing {
    /// It may be replaced if warpwise wrote it.
    Own,
    /// The user says that it may be replaced, whoever wrote it.
    Any,
}

impl Existing {
    /// As `--replace` says.
    pub(in crate::cli) const fn replaced(any: bool) -> Self {
        match any {
            true => Self::Any,
            false => Self::Own,
        }
    }
}

/// Writes one file the user asked for: whole, or not at all. `inputs`, the files that the command
/// reads, are never replaced.
pub(in crate::cli) fn write_file(
    path: &Path,
    bytes: &[u8],
    existing: Existing,
    inputs: &[PathBuf],
) -> Result<(), Failure> {
    may_write(path, existing, inputs)?;
    let fresh = sibling(path, "new");
    let written = (|| -> io::Result<()> {
        fs::create_dir_all(folder_of(path))?;
        step(|hidden| {
            hidden.paths.push(fresh.clone());
            write_new(&fresh, bytes)
        })?;
        step(|hidden| {
            fs::rename(&fresh, path)?;
            hidden.paths.retain(|p| *p != fresh);
            Ok(())
        })
    })();
    if let Err(e) = written {
        _ = remove(&fresh);
        return refuse(path, format!("the file cannot be written: {e}"), "");
    }
    sync_folder(folder_of(path)).or_else(|e| {
        let why = format!("the file is there, but may be lost with the power: {e}");
        refuse(path, why, "")
    })
}

/// Refuses a file that [`write_file`] would refuse: to be asked before long work.
pub(in crate::cli) fn may_write(
    path: &Path,
    existing: Existing,
    inputs: &[PathBuf],
) -> Result<(), Failure> {
    match why_not(path, existing, inputs) {
        Some((message, help)) => refuse(path, message.to_owned(), help),
        None => Ok(()),
    }
}

/// Tells why `path` is not written, and what helps.
fn refuse(path: &Path, message: String, help: &str) -> Result<(), Failure> {
    let problem = Diagnostic::error(message).at(Place::File(path.display().to_string()));
    messages::show(&match help {
        "" => problem,
        help => problem.help(help),
    });
    Err(Failure::Output)
}

/// Why the file at `path` must stay as it is, and what helps.
fn why_not(
    path: &Path,
    existing: Existing,
    inputs: &[PathBuf],
) -> Option<(&'static str, &'static str)> {
    let about = fs::symlink_metadata(path).ok()?;
    if about.is_dir() {
        return Some(("this is a folder", "name a file in it"));
    }
    if !about.is_file() {
        return Some((
            "this is a link or a device, not a file, and is left as it is",
            "name another file",
        ));
    }
    if inputs.iter().any(|input| is_same(input, path)) {
        return Some((
            "this file is read by the command; writing would destroy it",
            "name another file",
        ));
    }
    if existing == Existing::Own && !is_own(path) {
        return Some((
            "the file is there already, and warpwise did not write it",
            "name another file, or say `--replace`",
        ));
    }
    None
}

/// Whether both are one file, by whatever names.
fn is_same(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        if let (Ok(a), Ok(b)) = (fs::metadata(a), fs::metadata(b))
            && (a.dev(), a.ino()) == (b.dev(), b.ino())
        {
            return true;
        }
    }
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    }
}

/// How much of a file's beginning and end is looked through for the mark.
const LOOKED_THROUGH: u64 = 4096;

/// Whether the file says that warpwise wrote it: pages by their generator, pictures by a comment,
/// man pages by their source.
fn is_own(path: &Path) -> bool {
    let read = || -> io::Result<Vec<u8>> {
        let mut file = fs::File::open(path)?;
        let length = file.metadata()?.len();
        let mut bytes = Vec::new();
        (&mut file).take(LOOKED_THROUGH).read_to_end(&mut bytes)?;
        if length > LOOKED_THROUGH {
            file.seek(SeekFrom::Start(length - LOOKED_THROUGH))?;
            file.take(LOOKED_THROUGH).read_to_end(&mut bytes)?;
        }
        Ok(bytes)
    };
    let has = |bytes: &[u8], mark: &[u8]| bytes.windows(mark.len()).any(|w| w == mark);
    read().is_ok_and(|bytes| {
        bytes.is_empty()
            || [
                &b"name=\"generator\" content=\"warpwise"[..],
                b"Software\0warpwise",
                b"written by warpwise",
                b"\"warpwise ",
            ]
            .iter()
            .any(|mark| has(&bytes, mark))
    })
}
