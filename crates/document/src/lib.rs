//! The document: everything a person decides, as plain data, and the rules that keep it sound.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod acceptance;
pub mod accepted;
pub mod answer;
pub mod edit;
pub mod edition;
pub mod grain;
pub mod ids;
pub mod layer;
pub mod mark_room;
pub mod passes;
pub mod press_profile;
pub mod printing;
pub mod project;
pub mod remedy;
pub mod sheet;
pub mod shelf;
pub mod source;
pub mod terms;
pub mod wrap;
