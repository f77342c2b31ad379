//! Separating a colour picture: the picture beside its predicted print, the inks in printing order, and what becomes of
//! colours that they cannot print. Pictures are drawn beside the window.

mod inks;
mod pictures;

use std::sync::Arc;

use egui::{RichText, ScrollArea, TextureHandle, Ui, Vec2};
use slipsheet_core::ink::Ink;
use slipsheet_core::separation::{MOST_INKS, Separation};
use slipsheet_editor::{
    InInks, Look, Request, SeparateNews, SeparateOrder, SeparatedFor, Session, ToSeparate,
};
use slipsheet_registration::slip::slip_between_passes;
use slipsheet_render::Picture;

use super::context::Context;
use super::dialogs::{Next, make_large};
use super::sheet::color_image;
use super::{UiCommand, theme};

/// Width of the column of inks, in points.
const COLUMN: f32 = 390.0;
/// Height of the heading and of the foot.
const HEAD: f32 = 44.0;
const FOOT: f32 = 56.0;
/// Inks that are chosen where the sheet has none yet.
const AT_FIRST: usize = 3;

/// A picture while it is being separated.
pub(crate) struct Separating {
    of: ToSeparate,
    /// In printing order.
    inks: Vec<Ink>,
    separation: Separation,
    look: Look,
    /// The picture itself.
    source: Option<TextureHandle>,
    /// What was drawn last, and what of.
    shown: Option<Shown>,
    /// What was ordered last.
    ordered: Option<(InInks, Look)>,
    chosen: Option<ChosenSets>,
    /// A choice that is being worked out: of so many inks.
    choosing: Option<usize>,
    /// Whether the best set is taken as it comes, because there are no inks yet.
    takes_best: bool,
    trouble: Option<String>,
}

/// A picture that was drawn.
struct Shown {
    to: Box<InInks>,
    look: Look,
    texture: TextureHandle,
    mean: f64,
    far: f64,
}

/// Sets of inks that print it nearest.
struct ChosenSets {
    count: usize,
    sets: Vec<(Vec<Ink>, f64, TextureHandle)>,
}

impl Separating {
    pub fn new(of: ToSeparate, session: &Session) -> Self {
        let sheet = session.sheet();
        let source = match of.purpose {
            SeparatedFor::Source(id) => sheet.source(id),
            SeparatedFor::New(_) | SeparatedFor::InsteadOf(_) => None,
        };
        let (inks, separation) = match source {
            Some(source) => {
                let inks = sheet.layers_of(source).iter().map(|layer| layer.ink.clone()).collect();
                (inks, source.separation)
            }
            None => (first_inks(session), Separation::default()),
        };
        let inks_are_open = inks.is_empty();
        Self {
            of,
            inks,
            separation,
            look: Look::Print,
            source: None,
            shown: None,
            ordered: None,
            chosen: None,
            choosing: None,
            takes_best: inks_are_open,
            trouble: None,
        }
    }

    /// Takes what has come.
    pub fn take(&mut self, ctx: &egui::Context, news: SeparateNews) {
        match news {
            SeparateNews::Look { to, look, picture, mean, far } => {
                let texture = texture(ctx, "separation", &picture);
                self.shown = Some(Shown { to, look, texture, mean, far });
                self.trouble = None;
            }
            SeparateNews::Chosen { count, sets } => {
                let sets = sets.into_iter().map(|(inks, mean, p)| (inks, mean, texture(ctx, "set", &p)));
                let sets: Vec<_> = sets.collect();
                if let Some((inks, _, _)) = sets.first().filter(|_| std::mem::take(&mut self.takes_best)) {
                    self.inks.clone_from(inks);
                }
                self.chosen = Some(ChosenSets { count, sets });
                self.choosing = None;
            }
            SeparateNews::Failed(why) => {
                self.trouble = Some(super::sentence(&why));
                self.choosing = None;
            }
        }
    }

    /// Whether every picture that was asked for has come.
    pub fn is_settled(&self) -> bool {
        let drawn = self.shown.as_ref().map(|s| (&*s.to, s.look));
        let asked = self.ordered.as_ref().map(|(to, look)| (to, *look));
        self.choosing.is_none() && (asked.is_some() && drawn == asked || self.trouble.is_some())
    }

    fn wanted(&self, cx: &Context<'_>) -> InInks {
        let project = cx.session.project();
        InInks {
            stock: cx.session.sheet().stock.clone(),
            inks: self.inks.clone(),
            overprints: project.overprints.iter().chain(&cx.session.shelf().overprints).cloned().collect(),
            separation: self.separation,
        }
    }

    /// Pixels of the small picture to a mm of the sheet.
    fn px_per_mm(&self) -> f64 {
        self.of.scan.dpi.px_per_mm() / self.of.shrunk
    }

    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let size = make_large(ui);
        ui.set_height(size.y);
        let heading = match self.of.purpose {
            SeparatedFor::Source(_) => "Separation",
            SeparatedFor::New(_) | SeparatedFor::InsteadOf(_) => "Separate a picture",
        };
        ui.horizontal(|ui| {
            ui.heading(heading);
            ui.add_space(theme::GAP);
            let about = format!("{}: {}", self.of.scan.file_name(), self.of.profile.words());
            ui.label(RichText::new(about).small().color(theme::of(ui).faint));
        });
        ui.add_space(theme::GAP);
        let height = (size.y - HEAD - FOOT).max(200.0);
        ui.horizontal_top(|ui| {
            let width = size.x - COLUMN - theme::GROUP_GAP;
            ui.allocate_ui_with_layout(
                Vec2::new(width, height),
                egui::Layout::top_down(egui::Align::Min),
                |ui| self.pictures_ui(ui, Vec2::new(width, height)),
            );
            ui.add_space(theme::GROUP_GAP - theme::GAP);
            ui.allocate_ui_with_layout(
                Vec2::new(COLUMN, height),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                        ui.set_max_width(COLUMN - theme::SCROLL_ROOM);
                        self.inks_ui(ui, cx, out);
                        self.how_ui(ui);
                    });
                },
            );
        });
        self.order(cx, out);
        let next = self.foot_ui(ui, out);
        if next == Next::Close {
            out.push(UiCommand::Separating(None));
        }
        next
    }

    /// Asks for what is to be seen, once for each change.
    fn order(&mut self, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        if self.choosing.is_some() {
            return;
        }
        if self.inks.is_empty() {
            if self.takes_best {
                self.choose(AT_FIRST.min(cx.session.shelf().inks.len()), cx, out);
            }
            return;
        }
        let wanted = (self.wanted(cx), self.look);
        if self.ordered.as_ref() != Some(&wanted) {
            let order = SeparateOrder::Look {
                picture: Arc::clone(&self.of.small),
                px_per_mm: self.px_per_mm(),
                to: Box::new(wanted.0.clone()),
                look: self.look,
                slip: slip_between_passes(&cx.session.printing().press, 0.5),
            };
            out.push(UiCommand::Separating(Some(order)));
            self.ordered = Some(wanted);
        }
    }

    /// Asks for the sets of so many inks that print it nearest.
    fn choose(&mut self, count: usize, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        self.choosing = Some(count);
        let of = InInks { inks: cx.session.shelf().inks.clone(), ..self.wanted(cx) };
        let (picture, px_per_mm) = (Arc::clone(&self.of.small), self.px_per_mm());
        let order = SeparateOrder::Choose { picture, px_per_mm, of: Box::new(of), count };
        out.push(UiCommand::Separating(Some(order)));
        // What was being drawn gives way, and is asked for anew afterwards.
        self.ordered = None;
    }

    fn foot_ui(&self, ui: &mut Ui, out: &mut Vec<UiCommand>) -> Next {
        super::dialogs::buttons(ui, |ui| {
            let name = match self.of.purpose {
                SeparatedFor::Source(_) => "Use it",
                SeparatedFor::New(_) | SeparatedFor::InsteadOf(_) => "Separate",
            };
            if ui
                .add_enabled(
                    !self.inks.is_empty(),
                    theme::filled(theme::of(ui), RichText::new(name).color(theme::of(ui).on_accent)),
                )
                .clicked()
            {
                let (scan, purpose) = (self.of.scan.clone(), self.of.purpose);
                let (inks, separation) = (self.inks.clone(), self.separation);
                out.push(Request::Separate { scan, purpose, inks, separation }.into());
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
    }
}

/// The inks to begin with: those on the sheet, where there are several.
fn first_inks(session: &Session) -> Vec<Ink> {
    let mut inks: Vec<Ink> = Vec::new();
    for layer in session.sheet().layers.iter().filter(|layer| !layer.art.is_empty()) {
        if inks.len() < MOST_INKS && !inks.iter().any(|ink| ink.name == layer.ink.name) {
            inks.push(layer.ink.clone());
        }
    }
    if inks.len() > 1 { inks } else { Vec::new() }
}

fn texture(ctx: &egui::Context, name: &str, picture: &Picture) -> TextureHandle {
    ctx.load_texture(name, color_image(picture), egui::TextureOptions::LINEAR)
}
