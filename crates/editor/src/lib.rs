//! A working session on one project, without any window: the document, the requests that change it, its
//! history, the jobs that run beside it, and what the person is told.
//!
//! **Invariant:** [`Session::apply`] is the only door for change. A front reads the session, hands it
//! [`Request`]s, and carries out the [`Effect`]s that come back.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

mod apply;
mod calibration;
mod dust;
mod export;
mod handover;
mod history;
mod job;
mod known_register;
mod landing;
mod live;
mod notice;
mod previews;
mod refused;
mod request;
mod run_desk;
mod scan_watch;
mod separating;
mod session;
mod slot;
mod snapshot;
mod strip;
mod study_key;
mod tasks;
mod whole_ink;
mod worker;

pub use calibration::{Calibrated, CalibrationOffer, CalibrationOrder, CalibrationSource};
pub use dust::DustOrder;
pub use export::{
    About, DummyExport, DummySheetExport, Export, ExportError, GoesTo, GuideExport, MAKING_PACK, MarksExport,
    PackExport, PressExport, ProofExport, ProofsExport, ShelfExport, Source, WedgeExport, WrapExport,
    with_ending,
};
pub use handover::{Handover, HandoverPages, OnPaper};
pub use history::History;
pub use job::{
    CALIBRATING, Done, Job, Lost, MarksToShow, Opening, Original, OriginalLinedUp, Reviewed, SaveOrder,
    SaveOver, Saving, ToMend, Waiting,
};
pub use known_register::{KnownInk, KnownRegister};
pub use landing::Landing;
pub use live::{FacePrint, Figures, FiguresOrder, LiveOrder, LivePicture};
pub use notice::{Cause, Notice, Weight};
pub use previews::{Preview, PreviewOrder, Wanted};
pub use refused::RequestError;
pub use request::{Effect, Leave, Pick, Request, ShelfChange};
pub use run_desk::{
    Answers, AnswersWanted, Booked, LookWanted, Row, RowWanted, RunNews, RunOrder, ShownAnswer, SlippedCopies,
};
pub use scan_watch::ScanWatch;
pub use separating::{
    InInks, Look, SeparateNews, SeparateOrder, SeparatedFor, SeparatedLast, ToSeparate, as_shown,
};
pub use session::{Selection, Session};
pub use snapshot::Snapshot;
pub use strip::{StripFigures, StripNews, StripOrder};
pub use study_key::StudyKey;
pub use tasks::{TaskInfo, Tasks};
pub use whole_ink::WholeInk;
pub use worker::{Order, Turn, Worker};
