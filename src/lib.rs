//! From flat ply outlines and a laminate schedule to cut files and the cloth to buy.
pub mod cloth;
pub mod diag;
pub mod geometry;
pub mod job;
pub mod laminate;
pub mod nest;
pub mod output;
pub mod pattern;
pub mod plan;
pub mod units;
