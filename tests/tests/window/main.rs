//! The window, driven by what a person sees: a module for each of its views and dialogs.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

mod basics;
mod booking;
mod booklet;
mod lacking;
mod lineup;
mod originals;
mod outside;
mod overlay;
mod reading;
mod run;
mod scheme;
mod separation;
mod series;
mod shelf;
mod sides;
mod views;
mod wrap;
