//! Commands on the wrap: its sheet, which sheet is in hand, and its export.

use std::path::PathBuf;

use slipsheet_document::wrap::{WrapOrder, WrapPlan};

use super::{Applied, with_ending};
use crate::command::{CommandError, Effect, WrapChange};
use crate::job::Job;
use crate::session::{Selection, Session};

impl Session {
    pub(super) fn change_wrap(&mut self, change: WrapChange) -> Result<&'static str, CommandError> {
        match change {
            WrapChange::Give(order) => {
                self.plan(&order)?;
                let label =
                    if self.project.wrap.is_some() { "Change the wrap" } else { "Give the wrap a sheet" };
                self.project.give_wrap(&order);
                Ok(label)
            }
            WrapChange::Remove => {
                self.project.turn_to(false);
                self.project.wrap = None;
                Ok("Remove the wrap")
            }
        }
    }

    /// Takes the wrap's sheet in hand, or the booklet's; no step of history.
    pub(super) fn turn_to(&mut self, wrap: bool) -> Applied {
        if wrap && self.project.wrap.is_none() {
            let why = "the project has no wrap yet; make one under Edit, Wrap…";
            return Err(CommandError::File(why.to_owned()));
        }
        if self.project.shows_wrap() != wrap {
            self.history.close(&self.project);
            self.project.turn_to(wrap);
            self.turned();
        }
        Ok(vec![])
    }

    /// What was selected on the other sheet is not here.
    pub(super) fn turned(&mut self) {
        self.selection = Selection { layer: (!self.project.layers.is_empty()).then_some(0), art: 0 };
        self.revision += 1;
    }

    pub(super) fn export_wrap(&self, path: PathBuf, order: &WrapOrder) -> Applied {
        let svg = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg"));
        let path = if svg { path } else { with_ending(path, "pdf") };
        self.may_write(&path)?;
        let plan = Box::new(self.plan(order)?);
        Ok(vec![Effect::Start(Job::Wrap { plan, title: self.project.title.clone(), path })])
    }

    fn plan(&self, order: &WrapOrder) -> Result<WrapPlan, CommandError> {
        WrapPlan::new(&self.project, order).map_err(|e| CommandError::File(e.to_string()))
    }
}
