//! The out folder: written whole beside its place, then moved into it.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::lock::{Lock, lock};
use super::refusal::{ANOTHER_OR_EMPTY, Refusal, refusal};
use super::{folder_of, hidden, prefix, remove, sibling, step, sync_folder, write_new};
use crate::cli::{Failure, messages};
use crate::diag::{Diagnostic, Place};
use crate::output::OutputFile;

/// Lists the files warpwise wrote into a folder, so that the folder is known for its own.
const MANIFEST: &str = ".warpwise";

/// The name of the manifest until it is written.
const FRESH_MANIFEST: &str = ".warpwise-new";

/// Size of the file that tries the disk before the search: about what a small plan takes.
const TRIAL_BYTES: usize = 256 << 10;

/// The folder for the results, held by this run alone until it is dropped.
pub(in crate::cli) struct OutFolder {
    path: PathBuf,
    /// Locked as long as the folder is held; `None` where the system knows no locks.
    lock: Option<Lock>,
    /// The folders above it that were made for it, outermost first.
    made: Vec<PathBuf>,
}

impl OutFolder {
    /// Takes `out` for this run: refuses a place that holds anything warpwise did not write or that
    /// another run holds, tries whether it can be written, and puts back an earlier plan that a
    /// kill left under a hidden name.
    pub(in crate::cli) fn hold(out: &Path) -> Result<Self, Failure> {
        Self::try_hold(out).map_err(|why| why.show(out))
    }

    fn try_hold(out: &Path) -> Result<Self, Refusal> {
        if out.file_name().is_none() || holds_current_folder(out) {
            return Err(refusal(
                "the folder for the results would replace the folder you are in, or one above it",
                "name a folder of its own with `--out`, for example `--out rudder-plan`",
            ));
        }
        check_free(out)?;
        let missing: Vec<PathBuf> = folder_of(out)
            .ancestors()
            .take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists())
            .map(Path::to_owned)
            .collect();
        let mut held = Self {
            path: out.to_owned(),
            lock: None,
            made: missing.into_iter().rev().collect(),
        };
        fs::create_dir_all(folder_of(out))?;
        held.lock = lock(out)?;
        held.recover()?;
        // What another run wrote meanwhile.
        check_free(out)?;
        held.try_disk()?;
        Ok(held)
    }

    /// Refuses files that the job reads from this folder: writing would destroy them.
    pub(in crate::cli) fn check_inputs(&self, inputs: &[PathBuf]) -> Result<(), Failure> {
        let Ok(own) = self.path.canonicalize() else {
            return Ok(());
        };
        let inside = inputs
            .iter()
            .find(|input| input.canonicalize().is_ok_and(|i| i.starts_with(&own)));
        match inside {
            Some(input) => {
                let why = refusal(
                    format!(
                        "the job reads {} from the folder for the results, which each plan replaces",
                        input.display()
                    ),
                    "copy what it reads to a folder of its own, or choose another folder with `--out`",
                );
                Err(why.show(&self.path))
            }
            None => Ok(()),
        }
    }

    /// Writes `files` as the folder, in place of what an earlier plan left there. On failure
    /// nothing is changed.
    pub(in crate::cli) fn write(&self, files: &[OutputFile]) -> Result<(), Failure> {
        self.try_write(files).map_err(|why| why.show(&self.path))
    }

    fn try_write(&self, files: &[OutputFile]) -> Result<(), Refusal> {
        check_free(&self.path)?;
        let fresh = sibling(&self.path, "new");
        step(|hidden| {
            hidden.paths.push(fresh.clone());
            fs::create_dir(&fresh)
        })?;
        let written = write_all(&fresh, files);
        let old = match written.and_then(|()| self.swap(&fresh)) {
            Ok(old) => old,
            Err(e) => {
                _ = remove(&fresh);
                return Err(e.into());
            }
        };
        if let Some(old) = old {
            self.clear_away(&old);
        }
        Ok(())
    }

    /// Moves `fresh` into place; returns where the earlier plan lies now, if there was one. Where it
    /// fails, the earlier plan is in its place and the new one, if at all, at `fresh`.
    fn swap(&self, fresh: &Path) -> io::Result<Option<PathBuf>> {
        step(|hidden| {
            let old = self.move_in(fresh)?;
            // The earlier plan goes only when the move cannot be lost with the power.
            if let Err(e) = sync_folder(folder_of(&self.path))
                && self.move_back(fresh, old.as_deref()).is_ok()
            {
                return Err(e);
            }
            hidden.is_in_place = true;
            hidden.paths.retain(|path| path != fresh);
            Ok(old)
        })
    }

    fn move_in(&self, fresh: &Path) -> io::Result<Option<PathBuf>> {
        if let Err(e) = fs::symlink_metadata(&self.path) {
            if e.kind() != ErrorKind::NotFound {
                return Err(e);
            }
            fs::rename(fresh, &self.path)?;
            return Ok(None);
        }
        if exchange(fresh, &self.path).is_ok() {
            return Ok(Some(fresh.to_owned()));
        }
        // Two steps where the system cannot exchange: a kill between them leaves the earlier plan
        // hidden, and the next run puts it back.
        let old = sibling(&self.path, "old");
        fs::rename(&self.path, &old)?;
        fs::rename(fresh, &self.path).inspect_err(|_| {
            _ = fs::rename(&old, &self.path);
        })?;
        Ok(Some(old))
    }

    /// Undoes [`Self::move_in`], which left the earlier plan at `old`.
    fn move_back(&self, fresh: &Path, old: Option<&Path>) -> io::Result<()> {
        match old {
            Some(old) if old == fresh => exchange(fresh, &self.path),
            Some(old) => {
                fs::rename(&self.path, fresh)?;
                fs::rename(old, &self.path)
            }
            None => fs::rename(&self.path, fresh),
        }
    }

    /// Removes the earlier plan; what cannot or must not be removed is named.
    fn clear_away(&self, old: &Path) {
        // Somebody may have put a file into it while the new plan was being written.
        let foreign = foreign_in(old).unwrap_or(None);
        let why = match foreign {
            Some(name) => Some(format!("it holds {name}, which warpwise did not write")),
            None => remove(old).err().map(|e| e.to_string()),
        };
        if let Some(why) = why {
            messages::show(
                &Diagnostic::warning(format!("the earlier plan was not removed: {why}"))
                    .at(Place::File(old.display().to_string()))
                    .help("the new plan is in place; look at this folder and delete it"),
            );
        }
    }

    /// Puts an earlier plan back that a kill left hidden, and removes what is left of others.
    fn recover(&self) -> Result<(), Refusal> {
        if self.lock.is_none() {
            // They may belong to a run that is writing.
            return Ok(());
        }
        let name = self.path.file_name().unwrap_or_default().to_string_lossy();
        let mut old = Vec::new();
        let mut fresh = Vec::new();
        for entry in fs::read_dir(folder_of(&self.path))?.flatten() {
            let found = entry.file_name().to_string_lossy().into_owned();
            if found.starts_with(&prefix(&name, "try")) {
                _ = remove(&entry.path());
            }
            if !entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                continue;
            }
            if found.starts_with(&prefix(&name, "old")) || found == format!(".{name}.warpwise-old")
            {
                old.push(entry.path());
            } else if found.starts_with(&prefix(&name, "new"))
                || found == format!(".{name}.warpwise-new")
            {
                fresh.push(entry.path());
            }
        }
        old.sort_by_key(|path| fs::metadata(path).and_then(|about| about.modified()).ok());
        if fs::symlink_metadata(&self.path).is_err()
            && let Some(last) = old.iter().rposition(|path| is_whole(path))
        {
            fs::rename(old.remove(last), &self.path)?;
            messages::show(
                &Diagnostic::note(
                    "an earlier run was ended while it wrote: its old plan was put back",
                )
                .at(Place::File(self.path.display().to_string())),
            );
        }
        for left in old.iter().chain(&fresh) {
            // One with a manifest was in its place once, and somebody may have put a file into it.
            let was_in_place = left.join(MANIFEST).exists();
            if !was_in_place || foreign_in(left).is_ok_and(|foreign| foreign.is_none()) {
                _ = remove(left);
            }
        }
        Ok(())
    }

    /// Writes something and takes it away again: better refused now than after the search.
    fn try_disk(&self) -> io::Result<()> {
        let trial = sibling(&self.path, "try");
        let tried = step(|hidden| {
            hidden.paths.push(trial.clone());
            write_new(&trial, &vec![b' '; TRIAL_BYTES])
        });
        let removed = remove(&trial);
        hidden().paths.retain(|path| *path != trial);
        tried.and(removed)
    }
}

impl Drop for OutFolder {
    fn drop(&mut self) {
        drop(self.lock.take());
        for folder in self.made.iter().rev() {
            // Only empty ones go.
            _ = fs::remove_dir(folder);
        }
    }
}

fn holds_current_folder(out: &Path) -> bool {
    let current = std::env::current_dir().and_then(|folder| folder.canonicalize());
    match (current, out.canonicalize()) {
        (Ok(current), Ok(out)) => current.starts_with(out),
        _ => false,
    }
}

/// Exchanges two folders in one step, where the system can.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(ErrorKind::Unsupported.into())
}

/// Refuses a place for results that holds anything warpwise did not write.
fn check_free(out: &Path) -> Result<(), Refusal> {
    match fs::symlink_metadata(out) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(e.into()),
        Ok(about) if about.is_symlink() => {
            return Err(refusal(
                "the place for the results is a link, and is left as it is",
                "name the folder that it leads to with `--out`",
            ));
        }
        Ok(about) if !about.is_dir() => {
            return Err(refusal(
                "there is a file where the folder for the results would go",
                ANOTHER_OR_EMPTY,
            ));
        }
        Ok(_) => {}
    }
    match foreign_in(out) {
        Ok(None) => Ok(()),
        Ok(Some(_)) if !out.join(MANIFEST).is_file() => Err(refusal(
            "the folder for the results was not written by warpwise",
            ANOTHER_OR_EMPTY,
        )),
        Ok(Some(name)) => Err(refusal(
            format!("the folder for the results holds what warpwise did not write: {name}"),
            ANOTHER_OR_EMPTY,
        )),
        Err(_) => Err(refusal(
            "the folder for the results cannot be read",
            ANOTHER_OR_EMPTY,
        )),
    }
}

/// Whether every file of a plan is in `folder`: one that was being removed may be there in part.
fn is_whole(folder: &Path) -> bool {
    let manifest = fs::read_to_string(folder.join(MANIFEST));
    manifest.is_ok_and(|files| files.lines().all(|file| folder.join(file).is_file()))
}

/// The first file or folder in `folder` that is not in its manifest.
fn foreign_in(folder: &Path) -> io::Result<Option<String>> {
    let manifest = match fs::read_to_string(folder.join(MANIFEST)) {
        Ok(manifest) => manifest,
        Err(e) if e.kind() == ErrorKind::NotFound => String::new(),
        Err(e) => return Err(e),
    };
    let mut known: BTreeSet<&str> = BTreeSet::from([MANIFEST]);
    for file in manifest.lines() {
        known.insert(file);
        known.extend(file.match_indices('/').map(|(at, _)| &file[..at]));
    }
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((path, prefix)) = open.pop() {
        let mut entries = fs::read_dir(path)?.collect::<io::Result<Vec<_>>>()?;
        entries.sort_by_key(fs::DirEntry::file_name);
        for entry in entries {
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if !known.contains(name.as_str()) {
                return Ok(Some(name));
            }
            if entry.file_type()?.is_dir() {
                open.push((entry.path(), format!("{name}/")));
            }
        }
    }
    Ok(None)
}

/// Writes `files` and the manifest into `folder` and brings all of it to the disk.
fn write_all(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    let mut folders = BTreeSet::from([folder.to_owned()]);
    let mut manifest = String::new();
    for file in files {
        let path = folder.join(&file.path);
        step(|_| {
            let parent = folder_of(&path);
            if !folders.contains(parent) {
                fs::create_dir_all(parent)?;
                let made = parent.ancestors().take_while(|above| *above != folder);
                folders.extend(made.map(Path::to_owned));
            }
            write_new(&path, &file.bytes)
        })?;
        manifest.push_str(&file.path);
        manifest.push('\n');
    }
    // Last, and whole at once: a folder with a manifest is whole.
    step(|_| {
        let fresh = folder.join(FRESH_MANIFEST);
        write_new(&fresh, manifest.as_bytes())?;
        fs::rename(&fresh, folder.join(MANIFEST))
    })?;
    folders
        .iter()
        .rev()
        .try_for_each(|folder| sync_folder(folder))
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

    fn write(out: &Path, files: &[OutputFile]) -> Result<(), Refusal> {
        OutFolder::try_hold(out)?.try_write(files)
    }

    fn read(out: &Path) -> String {
        fs::read_to_string(out.join("plan.json")).unwrap()
    }

    #[test]
    fn a_plan_replaces_a_plan_and_nothing_else() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("deep/out");
        assert!(write(&out, &[file("plan.json", "1"), file("cut/a.svg", "1")]).is_ok());
        assert!(write(&out, &[file("plan.json", "2")]).is_ok());
        assert_eq!(read(&out), "2");
        assert!(!out.join("cut").exists());
        assert_eq!(fs::read_dir(out.parent().unwrap()).unwrap().count(), 1);

        fs::write(out.join("notes.txt"), "mine").unwrap();
        assert!(write(&out, &[file("plan.json", "3")]).is_err());
        assert_eq!(read(&out), "2");
        assert_eq!(fs::read_to_string(out.join("notes.txt")).unwrap(), "mine");
        fs::remove_file(out.join("notes.txt")).unwrap();
        // An empty folder is somebody's too.
        fs::create_dir(out.join("photographs")).unwrap();
        assert!(write(&out, &[file("plan.json", "3")]).is_err());
        assert!(out.join("photographs").exists());
    }

    #[test]
    fn foreign_folders_files_and_links_are_left_alone() {
        let temp = tempfile::tempdir().unwrap();
        let foreign = temp.path().join("foreign");
        fs::create_dir(&foreign).unwrap();
        fs::write(foreign.join("letter.txt"), "dear").unwrap();
        assert!(check_free(&foreign).is_err());
        assert!(check_free(&foreign.join("letter.txt")).is_err());
        assert!(check_free(&temp.path().join("none")).is_ok());
        for nobody in [".", "..", "/", "none/.."] {
            assert!(OutFolder::try_hold(Path::new(nobody)).is_err(), "{nobody}");
        }
        // Folders that were made for nothing go again.
        drop(
            OutFolder::try_hold(&temp.path().join("a/b/out"))
                .ok()
                .unwrap(),
        );
        assert!(!temp.path().join("a").exists());
    }

    #[test]
    fn who_comes_second_is_told() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("out");
        let first = OutFolder::try_hold(&out).ok().unwrap();
        let second = OutFolder::try_hold(&out).err().unwrap();
        assert!(second.message.contains("another run"), "{}", second.message);
        assert!(first.try_write(&[file("plan.json", "1")]).is_ok());
        drop(first);
        assert!(write(&out, &[file("plan.json", "2")]).is_ok());
        assert_eq!(fs::read_dir(temp.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_plan_that_a_kill_left_hidden_is_put_back() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("out");
        for hidden in [".out.warpwise-old", ".out.warpwise-old-0123456789abcdef"] {
            assert!(write(&out, &[file("plan.json", "1")]).is_ok());
            // As between two renames.
            fs::rename(&out, temp.path().join(hidden)).unwrap();
            fs::create_dir(temp.path().join(".out.warpwise-new-1")).unwrap();
            // Others that were ended while they removed theirs, before and after its manifest.
            let in_part = temp.path().join(".out.warpwise-old-1");
            fs::create_dir(&in_part).unwrap();
            fs::write(in_part.join(MANIFEST), "plan.json\n").unwrap();
            fs::create_dir(temp.path().join(".out.warpwise-old-2")).unwrap();
            drop(OutFolder::try_hold(&out).ok().unwrap());
            assert_eq!(read(&out), "1", "{hidden}");
            assert_eq!(fs::read_dir(temp.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn what_the_job_reads_is_not_replaced() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("out");
        assert!(write(&out, &[file("stock/a.json", "1")]).is_ok());
        let held = OutFolder::try_hold(&out).ok().unwrap();
        let (inside, outside) = (out.join("stock"), temp.path().join("stock"));
        assert!(held.check_inputs(&[inside]).is_err());
        assert!(held.check_inputs(&[outside]).is_ok());
    }
}
