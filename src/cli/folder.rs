//! The out folder: written whole beside its place, then moved into it.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::{Failure, messages};
use crate::diag::{Diagnostic, Place};
use crate::output::OutputFile;

/// Lists the files warpwise wrote into a folder, so that the folder is known for its own.
const MANIFEST: &str = ".warpwise";

/// Refuses a place for results that holds anything warpwise did not write.
pub(super) fn check_free(out: &Path) -> Result<(), Failure> {
    let refuse = |message: String| {
        messages::show(
            &Diagnostic::error(message)
                .at(Place::File(out.display().to_string()))
                .help("choose another folder with `--out`, or move its content away"),
        );
        Err(Failure::Output)
    };
    let Ok(about) = fs::symlink_metadata(out) else {
        return Ok(());
    };
    if !about.is_dir() {
        return refuse("the place for the results is taken by a file".to_owned());
    }
    let Ok(found) = files_in(out) else {
        return refuse("the folder for the results cannot be read".to_owned());
    };
    if found.is_empty() {
        return Ok(());
    }
    let Ok(manifest) = fs::read_to_string(out.join(MANIFEST)) else {
        return refuse("the folder for the results was not written by warpwise".to_owned());
    };
    let foreign = found
        .iter()
        .find(|f| f.as_str() != MANIFEST && !manifest.lines().any(|line| line == f.as_str()));
    match foreign {
        Some(file) => refuse(format!(
            "the folder for the results holds a file that warpwise did not write: {file}"
        )),
        None => Ok(()),
    }
}

/// Writes `files` as the folder `out`, replacing what an earlier plan left there. On failure
/// nothing is changed.
pub(super) fn write(out: &Path, files: &[OutputFile]) -> Result<(), Failure> {
    check_free(out)?;
    try_write(out, files).map_err(|e| {
        messages::show(
            &Diagnostic::error(format!("the results cannot be written: {e}"))
                .at(Place::File(out.display().to_string()))
                .help("choose another folder with `--out`"),
        );
        Failure::Output
    })
}

/// Writes one file the user asked for: whole, or not at all.
pub(super) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let fresh = sibling(path, "new");
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => fs::create_dir_all(parent),
        _ => Ok(()),
    };
    let written = folder
        .and_then(|()| fs::write(&fresh, bytes))
        .and_then(|()| fs::rename(&fresh, path));
    written.map_err(|e| {
        _ = fs::remove_file(&fresh);
        messages::show(
            &Diagnostic::error(format!("the file cannot be written: {e}"))
                .at(Place::File(path.display().to_string())),
        );
        Failure::Output
    })
}

fn try_write(out: &Path, files: &[OutputFile]) -> io::Result<()> {
    if let Some(parent) = out.parent()
        && !parent.as_os_str().is_empty()
    {
        fs::create_dir_all(parent)?;
    }
    let fresh = sibling(out, "new");
    let old = sibling(out, "old");
    // Left over from a run that was killed while writing.
    remove(&fresh)?;
    remove(&old)?;
    let written = write_all(&fresh, files).and_then(|()| {
        if out.exists() {
            fs::rename(out, &old)?;
        }
        fs::rename(&fresh, out).inspect_err(|_| {
            // Put the earlier plan back; if that fails too, it is still there as the sibling.
            _ = fs::rename(&old, out);
        })
    });
    if written.is_err() {
        _ = remove(&fresh);
    }
    written.and_then(|()| remove(&old))
}

fn write_all(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    fs::create_dir(folder)?;
    let mut manifest = String::new();
    for file in files {
        let path = folder.join(&file.path);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        fs::File::create_new(&path)?.write_all(&file.bytes)?;
        manifest.push_str(&file.path);
        manifest.push('\n');
    }
    fs::write(folder.join(MANIFEST), manifest)
}

/// A hidden name beside `out` on the same file system, so that moving it is one step.
fn sibling(out: &Path, word: &str) -> PathBuf {
    let name = out.file_name().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!(".{name}.warpwise-{word}"))
}

fn remove(folder: &Path) -> io::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(()),
        other => other,
    }
}

/// Every file below `folder`, as a path with `/`, in order.
fn files_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((path, prefix)) = open.pop() {
        for entry in fs::read_dir(path)? {
            let entry = entry?;
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.file_type()?.is_dir() {
                open.push((entry.path(), format!("{name}/")));
            } else {
                found.push(name);
            }
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> OutputFile {
        OutputFile {
            path: path.to_owned(),
            bytes: text.as_bytes().to_vec(),
        }
    }

    #[test]
    fn a_plan_replaces_a_plan_and_nothing_else() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("deep/out");
        write(&out, &[file("plan.json", "1"), file("cut/a.svg", "1")]).unwrap();
        write(&out, &[file("plan.json", "2")]).unwrap();
        assert_eq!(fs::read_to_string(out.join("plan.json")).unwrap(), "2");
        assert!(!out.join("cut").exists());
        assert_eq!(fs::read_dir(out.parent().unwrap()).unwrap().count(), 1);

        fs::write(out.join("notes.txt"), "mine").unwrap();
        assert!(write(&out, &[file("plan.json", "3")]).is_err());
        assert_eq!(fs::read_to_string(out.join("plan.json")).unwrap(), "2");
        assert_eq!(fs::read_to_string(out.join("notes.txt")).unwrap(), "mine");
    }

    #[test]
    fn foreign_folders_and_files_are_left_alone() {
        let temp = tempfile::tempdir().unwrap();
        let foreign = temp.path().join("foreign");
        fs::create_dir(&foreign).unwrap();
        fs::write(foreign.join("letter.txt"), "dear").unwrap();
        assert!(check_free(&foreign).is_err());
        assert!(check_free(&foreign.join("letter.txt")).is_err());
        assert!(check_free(&temp.path().join("none")).is_ok());
    }
}
