//! How it is written: one module for each format.

pub(super) mod csv;
pub(super) mod dxf;
mod font;
pub(super) mod gcode;
pub(super) mod hpgl;
pub(super) mod pdf;
pub(super) mod picture;
pub(super) mod svg;
pub(super) mod toolpath;
