//! What studies and runs of the sheet in view have found.

use std::sync::Arc;

use egui::{Context, TextureHandle};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::LayerId;
use slipsheet_editor::{Answers, LookWanted, Row, RunNews, Session, ShownAnswer, SlippedCopies, StudyKey};
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::painter::Change;
use slipsheet_registration::slip::{Study, Tolerance};
use slipsheet_render::Picture;

use crate::window::Showing;
use crate::window::sheet::color_image;
use crate::window::theme;

/// What is known so far.
#[derive(Default)]
pub(crate) struct RunKnown {
    about: About,
    /// What the study is of.
    of: Option<(Arc<StudyKey>, Face)>,
    /// What studies are asked for of, and whether this one is.
    expected: Option<(StudyKey, Face)>,
    is_fresh: bool,
    pub study: Option<Arc<Study>>,
    /// How far its inks may slip, by what is accepted.
    tolerance: Option<(Acceptance, Tolerance)>,
    pub failed: Option<String>,
    pub copies: Option<Arc<SlippedCopies>>,
    /// How far the first copies differ for the eye.
    pub changes: Arc<Vec<Change>>,
    pub row: Option<ShownRow>,
    starts: Option<(Arc<Vec<Picture>>, Vec<TextureHandle>)>,
    look: Option<(LookWanted, Arc<Vec<Picture>>, Vec<TextureHandle>)>,
    pub map: Option<(Arc<SlipMap>, TextureHandle)>,
    pub answers: Option<ShownAnswers>,
    /// Tolerances before and after the last change that mattered.
    pub tolerances: [Option<f64>; 2],
}

/// What the news are about, whatever changes in it.
#[derive(Debug, Clone, Default, PartialEq)]
struct About {
    /// Of the session: another project is another one.
    epoch: u64,
    face: Face,
    /// Of a booklet, from 0.
    sheet: usize,
    /// In the order by which the news name them.
    layers: Vec<LayerId>,
}

/// Copies side by side, on the screen.
pub(crate) struct ShownRow {
    of: Arc<Row>,
    /// The number of each copy, best first.
    pub copies: Vec<(usize, TextureHandle)>,
}

/// Proposals on the screen.
pub(crate) struct ShownAnswers {
    pub of: Arc<Answers>,
    /// Each as the design is, and with it.
    pub pictures: Vec<Option<[TextureHandle; 2]>>,
}

impl About {
    fn of(session: &Session, showing: &Showing) -> Self {
        Self {
            epoch: session.epoch(),
            face: showing.face,
            sheet: showing.booklet_sheet,
            layers: session.printing().sheet.layers.iter().map(|l| l.id).collect(),
        }
    }
}

impl RunKnown {
    /// Takes what has come.
    pub fn take(&mut self, ctx: &Context, news: RunNews) {
        match news {
            RunNews::Study(key, face, study) => {
                if self.study.as_ref().is_none_or(|known| !Arc::ptr_eq(known, &study)) {
                    // Copies of an earlier study say nothing of this one; their pictures stay until others come.
                    (self.tolerance, self.copies, self.changes) = (None, None, Arc::default());
                }
                (self.study, self.failed, self.of) = (Some(study), None, Some((key, face)));
                self.compare();
            }
            RunNews::Copies(copies) => self.copies = Some(copies),
            RunNews::Changes(changes) => self.changes = changes,
            RunNews::Row(_, row) => {
                if self.row.as_ref().is_none_or(|known| !Arc::ptr_eq(&known.of, &row)) {
                    let load = |(copy, picture): &(usize, Picture)| (*copy, texture(ctx, "copy", picture));
                    let copies = row.copies.iter().map(load).collect();
                    self.row = Some(ShownRow { of: row, copies });
                }
            }
            RunNews::Starts(pictures) => {
                if self.starts.as_ref().is_none_or(|(known, _)| !Arc::ptr_eq(known, &pictures)) {
                    let shown = pictures.iter().map(|p| texture(ctx, "start", p)).collect();
                    self.starts = Some((pictures, shown));
                }
            }
            RunNews::Look(wanted, pictures) => {
                if self.look.as_ref().is_none_or(|(_, known, _)| !Arc::ptr_eq(known, &pictures)) {
                    let shown = pictures.iter().map(|p| texture(ctx, "whole copy", p)).collect();
                    self.look = Some((wanted, pictures, shown));
                }
            }
            RunNews::Map(map) => {
                if self.map.as_ref().is_none_or(|(known, _)| **known != *map) {
                    let picture = heat_picture(&map);
                    self.map = Some((map, texture(ctx, "slip map", &picture)));
                }
            }
            RunNews::Answers(answers) => {
                if self.answers.as_ref().is_none_or(|known| !Arc::ptr_eq(&known.of, &answers)) {
                    let load = |answer: &ShownAnswer| {
                        let pictures = answer.pictures.as_ref();
                        pictures.map(|both| both.each_ref().map(|p| texture(ctx, "proposal", p)))
                    };
                    let pictures = answers.list.iter().map(load).collect();
                    self.answers = Some(ShownAnswers { of: answers, pictures });
                }
            }
            RunNews::Failed(why) => (self.study, self.failed) = (None, Some(why)),
        }
    }

    /// Remembers what studies are asked for of.
    pub fn expect(&mut self, of: StudyKey, face: Face) {
        self.expected = Some((of, face));
        self.compare();
    }

    fn compare(&mut self) {
        let same = |(expected, of): (&(StudyKey, Face), &(Arc<StudyKey>, Face))| {
            expected.1 == of.1 && expected.0 == *of.0
        };
        self.is_fresh = self.expected.as_ref().zip(self.of.as_ref()).is_some_and(same);
    }

    /// Whether the study is of what is printed now.
    pub fn is_fresh(&self) -> bool {
        self.is_fresh && self.study.is_some()
    }

    /// Judges the study by what is accepted now.
    pub fn judge(&mut self, acceptance: &Acceptance) {
        let Some(study) = &self.study else { return };
        if self.tolerance.as_ref().is_none_or(|(by, _)| by != acceptance) {
            let tolerance = study.tolerance(acceptance);
            let least = tolerance.least().map(|t| t.0);
            if self.tolerances[1] != least {
                self.tolerances = [self.tolerances[1], least];
            }
            self.tolerance = Some((*acceptance, tolerance));
        }
    }

    /// How far the inks may slip, once the study is there.
    pub fn judged(&self) -> Option<&Tolerance> {
        self.tolerance.as_ref().filter(|_| self.study.is_some()).map(|(_, tolerance)| tolerance)
    }

    /// The copies, once they are known for the share of the edges that is accepted.
    pub fn copies_for(&self, acceptance: &Acceptance) -> Option<&SlippedCopies> {
        self.copies.as_deref().filter(|copies| copies.share == acceptance.share)
    }

    /// Whether a copy would sell; `None` while that is not known.
    pub fn sells(&self, copy: usize, acceptance: &Acceptance) -> Option<bool> {
        if !self.is_fresh() {
            return None;
        }
        let fits = self.copies_for(acceptance)?.openings.get(copy)?.sells(acceptance);
        match acceptance.colour {
            None => Some(fits),
            Some(_) => self.changes.get(copy).map(|change| fits && change.sells(acceptance)),
        }
    }

    /// The tightest place at each of the starting points.
    pub fn starts(&self) -> &[TextureHandle] {
        self.starts.as_ref().map_or(&[], |(_, shown)| shown)
    }

    /// A copy whole, and what was meant.
    pub fn look(&self, copy: usize) -> &[TextureHandle] {
        self.look.as_ref().filter(|(wanted, _, _)| wanted.copy == copy).map_or(&[], |(_, _, shown)| shown)
    }

    /// Whether it is of another project than this.
    pub fn is_of_another(&self, session: &Session) -> bool {
        self.about.epoch != session.epoch()
    }

    /// Whether it is about another project, another side or other layers than are in view, or about these in another
    /// order.
    pub fn is_of_others(&self, session: &Session, showing: &Showing) -> bool {
        self.about != About::of(session, showing)
    }

    /// Lets go of what is known of others than are in view: it knows layers by their positions.
    pub fn follow(&mut self, session: &Session, showing: &Showing) {
        if self.is_of_others(session, showing) {
            self.forget();
            self.about = About::of(session, showing);
        }
    }

    /// Lets go of what a study of more scans than are there now has found.
    pub fn forget_all(&mut self) {
        if self.study.is_some() || self.failed.is_some() || self.copies.is_some() {
            self.forget();
            self.failed = None;
        }
    }

    fn forget(&mut self) {
        (self.study, self.tolerance, self.copies, self.of) = (None, None, None, None);
        self.tolerances = [None; 2];
        self.changes = Arc::default();
        (self.row, self.starts, self.look, self.map) = (None, None, None, None);
        self.answers = None;
    }
}

fn texture(ctx: &Context, name: &str, picture: &Picture) -> TextureHandle {
    ctx.load_texture(name, color_image(picture), egui::TextureOptions::LINEAR)
}

/// A slip map in colours, a pixel a shift.
fn heat_picture(map: &SlipMap) -> Picture {
    let most = map.changes.iter().map(|c| c.mean).fold(1e-9, f64::max);
    let pixels = map.changes.iter().map(|c| theme::change_colour(c.mean / most)).collect();
    Picture { width: map.side, height: map.side, pixels }
}
