//! A working session on one project, without any window: the document, the commands that change it, its
//! history, the jobs that run beside it, and what the person is told.
//!
//! **Invariant:** [`Session::apply`] is the only door for change. A front reads the session, hands it
//! [`Command`]s, and carries out the [`Effect`]s that come back.

mod apply;
mod command;
mod history;
mod job;
mod live;
mod notice;
mod run_desk;
mod session;
mod slot;

pub use apply::with_ending;
pub use command::{Command, CommandError, Effect, LayerChange, Pick, ShelfChange};
pub use history::History;
pub use job::{Done, Job, JobInfo, Jobs, Lost};
pub use live::{FacePrint, Figures, Live, LiveOrder, LivePicture, Snapshot};
pub use notice::{Notice, Weight};
pub use run_desk::{CopyWanted, PLACE, RunDesk, RunNews, RunWanted, RunWish, SHOWN};
pub use session::{Selection, Session};
