//! Everything that a plan becomes: the files of the out directory.

use std::thread;

use super::drawing::page::Page;
use super::drawing::templates::Purpose;
use super::drawing::{label_sheet, templates};
use super::files::{
    LABELS, OutputFile, bag_file_stem, cut_file_stems, job_folder, mould_stems, remnant_files,
    templates_path, trim_path,
};
use super::formats::csv::pieces_csv;
use super::formats::dxf::layout_dxf;
use super::formats::gcode::layout_gcode;
use super::formats::hpgl::layout_hpgl;
use super::formats::pdf;
use super::formats::picture::{Picture, page_svg};
use super::formats::svg::layout_svg;
use super::pages::{layup_sheets, report_html};
use super::proof::ProvenPlan;
use crate::cloth::remnant_file;
use crate::diag::Diagnostics;
use crate::job::FileKind;
use crate::plan::{Layout, Plan};

/// Every file of the out directory.
#[must_use]
pub fn all(proven: &ProvenPlan) -> Vec<OutputFile> {
    all_with_remarks(proven).0
}

/// Every file of the out directory, and what is to be said of them.
#[must_use]
pub fn all_with_remarks(proven: &ProvenPlan) -> (Vec<OutputFile>, Diagnostics) {
    let mut remarks = Diagnostics::new();
    let files = all_of(proven.plan(), proven.plan_json(), &mut remarks);
    (files, remarks)
}

/// The files of `plan`, which `plan_json` tells.
pub(super) fn all_of(plan: &Plan, plan_json: &str, remarks: &mut Diagnostics) -> Vec<OutputFile> {
    let printed = || {
        let mut remarks = Diagnostics::new();
        let papers = papers(plan, &mut remarks);
        let files: Vec<OutputFile> = papers.iter().map(PrintedPages::file).collect();
        (files, remarks)
    };
    // Papers take as long as all the rest.
    let ((papers, of_papers), mut files) = at_once(printed, || unprinted(plan, plan_json));
    files.extend(papers);
    remarks.append(of_papers);
    // Last, since it tells what is to be said of the others.
    let report = report_html(plan, remarks).into_bytes();
    files.insert(1, file("report.html", report));
    files
}

/// Both at the same time; one after the other if the system has no more threads.
fn at_once<A: Send, B>(first: impl Fn() -> A + Sync, second: impl FnOnce() -> B) -> (A, B) {
    thread::scope(|scope| {
        let beside = thread::Builder::new().spawn_scoped(scope, &first);
        let second = second();
        let first = match beside.map(thread::ScopedJoinHandle::join) {
            Ok(Ok(done)) => done,
            Ok(Err(panic)) => std::panic::resume_unwind(panic),
            Err(_) => first(),
        };
        (first, second)
    })
}

fn file(path: &str, bytes: Vec<u8>) -> OutputFile {
    OutputFile {
        path: path.to_owned(),
        bytes,
    }
}

/// All but the papers and the report of the whole.
fn unprinted(plan: &Plan, plan_json: &str) -> Vec<OutputFile> {
    let mut files = vec![
        file("plan.json", plan_json.as_bytes().to_vec()),
        file("pieces.csv", pieces_csv(plan).into_bytes()),
    ];
    for (layout, stem) in plan.layouts().iter().zip(cut_file_stems(plan)) {
        files.extend(cut_files(plan, layout, &stem));
    }
    for (left, path) in plan.stock_left().iter().zip(remnant_files(plan)) {
        let text = remnant_file(&left.cloth, &left.stock, Some(left.rectangle));
        files.push(file(&path, text.into_bytes()));
    }
    files.extend(work_files(plan));
    for job in plan.jobs() {
        let own = job.plan();
        let report = report_html(own, &Diagnostics::new()).into_bytes();
        let inside = std::iter::once(file("report.html", report)).chain(work_files(own));
        let folder = job_folder(job.name());
        files.extend(inside.map(|file| OutputFile {
            path: format!("{folder}/{}", file.path),
            ..file
        }));
    }
    files
}

/// A document of pages that are drawn.
pub(crate) struct PrintedPages {
    /// Its file in the out directory.
    pub(crate) path: String,
    /// Its title.
    pub(crate) title: String,
    pages: Vec<Page>,
}

impl PrintedPages {
    fn file(&self) -> OutputFile {
        OutputFile {
            path: self.path.clone(),
            bytes: pdf::document(&self.title, &self.pages),
        }
    }

    /// Its pages as pictures (SVG), the first `most` of them; and how many there are.
    pub(crate) fn pictures(&self, most: usize) -> (Vec<String>, usize) {
        let pages = self.pages.iter().take(most);
        (pages.map(page_svg).collect(), self.pages.len())
    }
}

/// Templates and labels, as the job wants them.
pub(crate) fn papers(plan: &Plan, remarks: &mut Diagnostics) -> Vec<PrintedPages> {
    let mut papers = Vec::new();
    let mut layouts = plan.layouts().iter();
    // A PDF has at least one page.
    if layouts.all(|layout| layout.pieces().is_empty()) {
        return papers;
    }
    let mut paper = |path: String, what: &str, pages: Vec<Page>| {
        let title = format!("{}: {what}", plan.title());
        papers.push(PrintedPages { path, title, pages });
    };
    if plan.outputs().wants(FileKind::Templates) {
        let cut = templates::patterns(plan, Purpose::Cut);
        if let Some(many) = templates::many_sheets(plan, cut.n_sheets) {
            remarks.push(many);
        }
        paper(templates_path(plan), "templates", cut.pages);
        let trim = templates::patterns(plan, Purpose::Trim);
        if !trim.pages.is_empty() {
            paper(trim_path(plan), "trim and drill templates", trim.pages);
        }
    }
    if plan.outputs().wants(FileKind::Labels) {
        paper(LABELS.to_owned(), "labels", label_sheet::pages(plan));
    }
    papers
}

/// What is needed beside the common rolls: bag layers and sheets.
fn work_files(plan: &Plan) -> Vec<OutputFile> {
    let mut files = Vec::new();
    for roll in plan.work().bagging.iter().flat_map(|bags| &bags.rolls) {
        if !roll.layout.pieces().is_empty() {
            files.extend(cut_files(plan, &roll.layout, &bag_file_stem(roll)));
        }
    }
    files.extend(mould_pictures(plan));
    files.extend(layup_sheets(plan));
    files
}

/// Every cloth on its mould as a picture.
fn mould_pictures(plan: &Plan) -> Vec<OutputFile> {
    let parts = plan.parts().iter();
    let drapes = parts.flat_map(|part| part.drapes().into_iter().map(move |drape| (part, drape)));
    let mut files = Vec::new();
    for ((part, drape), stem) in drapes.zip(mould_stems(plan)) {
        let picture = Picture::of_mould(plan, part, drape);
        files.push(OutputFile {
            path: format!("{stem}.svg"),
            bytes: picture.svg().into_bytes(),
        });
        let png = plan.outputs().wants(FileKind::Png);
        files.extend(
            png.then(|| picture.png())
                .flatten()
                .map(|bytes| OutputFile {
                    path: format!("{stem}.png"),
                    bytes,
                }),
        );
    }
    files
}

/// The files that cut `layout`, those that the job wants.
fn cut_files(plan: &Plan, layout: &Layout, stem: &str) -> Vec<OutputFile> {
    let mut files = Vec::new();
    for &kind in &plan.outputs().files {
        let bytes = match kind {
            FileKind::Dxf => Some(layout_dxf(plan, layout)),
            FileKind::Svg => Some(layout_svg(plan, layout).into_bytes()),
            FileKind::Hpgl => Some(layout_hpgl(plan, layout).into_bytes()),
            FileKind::Gcode => Some(layout_gcode(plan, layout).into_bytes()),
            FileKind::Png => Picture::of_roll(plan, layout).png(),
            FileKind::Templates | FileKind::Labels => None,
        };
        files.extend(
            kind.cut_file()
                .zip(bytes)
                .map(|((ending, _), bytes)| OutputFile {
                    path: format!("{stem}.{ending}"),
                    bytes,
                }),
        );
    }
    files
}
