//! Awn: a command line and a window over the same core.

pub mod backdrop;
pub mod cli;
pub mod commands;
pub mod demo;
pub mod gui;
