//! Which keys ask for an action, and what it does.

use slipsheet_document::edit::{LayerEdit, SheetEdit};
use slipsheet_document::layer::Slip;
use slipsheet_editor::{Effect, GuideExport, Leave, MarksExport, Pick, Request, WedgeExport};
use slipsheet_files::home::{LengthUnit, Theme};
use slipsheet_files::proof::ProofOptions;
use slipsheet_paper::fold::Face;
use slipsheet_render::dummy::Piece;

use crate::window::actions::{self, Action, TABLE};
use crate::window::context::Context;
use crate::window::dummy::PictureForm;
use crate::window::editions::SeriesPage;
use crate::window::overlays::OpenOverlay;
use crate::window::parts::PartReadings;
use crate::window::showing::{Compare, How};
use crate::window::strip::Readings;
use crate::window::wrap::WrapForm;
use crate::window::{MainView, Parts, SlipsheetApp, UiCommand, theme};

/// Points per mm at 96 points to the inch, which most desktops keep to.
pub(in crate::window) const TRUE_SIZE: f32 = 96.0 / 25.4;

/// Actions whose keys were pressed in this frame.
pub(in crate::window) fn keys(ctx: &egui::Context, cx: &Context<'_>) -> Vec<UiCommand> {
    let mut out = Vec::new();
    let reach = cx.reach;
    if reach.covered || reach.menu {
        return out;
    }
    // egui lets a key match with shift held besides, so the longer shortcuts are asked first.
    let shifted = |i: &&actions::Info| i.key.is_some_and(|k| k.modifiers.shift);
    for info in TABLE.iter().filter(shifted).chain(TABLE.iter().filter(|i| !shifted(i))) {
        let Some(key) = &info.key else { continue };
        // Most keys belong to the field one types in: letters, but also undo and delete.
        let always =
            [Action::New, Action::Open, Action::Save, Action::SaveAs, Action::Quit].contains(&info.action);
        if !always && !reach.views() {
            continue;
        }
        if cx.enabled(info.action) && ctx.input_mut(|i| i.consume_shortcut(key)) {
            out.push(info.action.into());
        }
    }
    out
}

impl SlipsheetApp {
    pub(in crate::window) fn act(&mut self, ctx: &egui::Context, action: Action) {
        if let Some(request) = self.asked(ctx, action) {
            self.run(ctx, request);
        }
    }

    /// What an action asks of the session. What is the window's own is done here.
    fn asked(&mut self, ctx: &egui::Context, action: Action) -> Option<Request> {
        let layer = self.session.selected_layer().map(|(i, l)| (i, l.id));
        let with_layer = |edit| layer.map(|(_, id)| Request::layer(id, edit));
        let id = self.session.sheet().id;
        let sheet = |edit| Some(Request::sheet(id, edit));
        let construction = self.session.printing().sheet.construction();
        let last = self.session.printing().sheet.printed_sheets() - 1;

        let (showing, Parts { views, overlays, .. }) = (&mut self.showing, &mut self.parts);
        let on_dummy = showing.view == MainView::Dummy;
        match action {
            Action::New => return Some(Request::Leave(Leave::New)),
            Action::Open => return Some(Request::Ask(Pick::OpenProject)),
            Action::Save => return Some(Request::Save),
            Action::SaveAs => return Some(Request::AskSaveAs),
            Action::Collect => return Some(Request::Collect),
            Action::FindScans => return Some(Request::Ask(Pick::FindScans)),
            Action::AcceptChanged => return Some(Request::AcceptChanged),
            Action::AddScans => return Some(Request::Ask(Pick::AddScans(None))),
            Action::SeparatePicture => return Some(Request::Ask(Pick::Picture)),
            Action::Guide => return Some(Request::export(GuideExport::Sheets)),
            Action::PageGuides => return Some(Request::export(GuideExport::Pages)),
            Action::Wedge => return Some(Request::export(WedgeExport)),
            Action::ReadWedge => return Some(Request::Ask(Pick::ReadWedge)),
            Action::ImportMeasured => return Some(Request::Ask(Pick::ImportMeasured)),
            Action::ExportMarks => return Some(Request::export(MarksExport)),
            Action::ReadMarks => return Some(Request::Ask(Pick::ReadMarks)),
            Action::OtherSheet => return self.split().0.other_sheet().map(Request::SwitchTo),
            Action::Quit => return Some(Request::Leave(Leave::Quit)),
            Action::Undo => return Some(Request::Undo),
            Action::Redo => return Some(Request::Redo),
            Action::AddLayer => return sheet(SheetEdit::AddLayer("Layer".to_owned())),
            Action::RemoveLayer => return with_layer(LayerEdit::Remove),
            Action::PrintLater => return layer.and_then(|(i, id)| sheet(SheetEdit::MoveLayer(id, i + 1))),
            Action::PrintEarlier => {
                return layer.and_then(|(i, id)| sheet(SheetEdit::MoveLayer(id, i.saturating_sub(1))));
            }
            Action::ToggleVisible => {
                let visible = self.session.selected_layer().is_some_and(|(_, l)| l.visible);
                return with_layer(LayerEdit::Visible(!visible));
            }
            Action::LineUpByMarks => {
                return self.session.selected_art().map(|a| Request::LookOverMarks(a.id));
            }
            Action::LineUpAll => return Some(Request::LineUpAll),
            Action::Mend => return self.session.selected_art().map(|a| Request::LookToMend(a.id)),
            Action::PartReadings => {
                let (cx, parts) = self.split();
                let regions = PartReadings::of_selected(&cx)?;
                parts.overlays.open(OpenOverlay::Parts(Box::new(regions)));
            }
            Action::ResetSlip => return with_layer(LayerEdit::Slip(Slip::default())),
            Action::ResetSlips => return sheet(SheetEdit::ResetSlips),
            Action::CompareReadings => {
                let (cx, parts) = self.split();
                let readings = Readings::of_selected(ctx, &cx)?;
                parts.overlays.open(OpenOverlay::Readings(Box::new(readings)));
            }
            Action::Wrap => {
                overlays.open(OpenOverlay::Wrap(Box::new(WrapForm::new(self.session.project()))));
            }
            Action::Pack => overlays.open(OpenOverlay::Pack(self.session.settings().pack)),
            Action::DummyPicture => {
                let form = PictureForm::new(&views.dummy, self.session.printing());
                overlays.open(OpenOverlay::DummyPicture(Box::new(form)));
            }
            Action::Blink => self.compare(How::Blink),
            Action::Difference => self.compare(How::Difference),
            Action::Proof => {
                let (face, sheet) = (showing.face, showing.booklet_sheet);
                let options = ProofOptions { face, sheet, ..Default::default() };
                overlays.open(OpenOverlay::Proof(Box::new(options), false));
            }
            Action::Solo => showing.alone = !showing.alone,
            Action::SheetView => showing.view = MainView::Sheet,
            Action::DummyView => showing.view = MainView::Dummy,
            Action::RunView => showing.view = MainView::Run,
            Action::TightEdges => showing.heat = !showing.heat,
            Action::BookingView => showing.view = MainView::Booking,
            Action::Fit if on_dummy => views.dummy.face_front(),
            Action::Fit => views.sheet.fit = true,
            Action::ActualSize => views.sheet.wanted_zoom = Some(TRUE_SIZE),
            Action::ZoomIn if on_dummy => views.dummy.zoom_by(1.25),
            Action::ZoomOut if on_dummy => views.dummy.zoom_by(0.8),
            Action::ZoomIn => views.sheet.zoom_by(1.25),
            Action::ZoomOut => views.sheet.zoom_by(0.8),
            Action::OtherFace => {
                showing.face = if showing.face == Face::Front { Face::Back } else { Face::Front };
            }
            Action::FoldGuides => showing.fold_guides = !showing.fold_guides,
            Action::PageMarks if on_dummy => showing.numbers = !showing.numbers,
            Action::PageMarks => showing.page_marks = !showing.page_marks,
            Action::Rulers => showing.rulers = !showing.rulers,
            Action::ShowThrough => showing.show_through = !showing.show_through,
            Action::FoldingSteps => overlays.open(OpenOverlay::FoldingSteps),
            Action::PrintedDummy => overlays.open(OpenOverlay::PrintedDummy(Default::default())),
            Action::LostTones => showing.lost_tones = !showing.lost_tones,
            Action::NextPage | Action::PreviousPage => {
                let piece = Piece::of(&construction);
                views.dummy.turn(&piece, if action == Action::NextPage { 1 } else { -1 });
            }
            Action::NextSheet => showing.booklet_sheet = (showing.booklet_sheet + 1).min(last),
            Action::PreviousSheet => {
                showing.booklet_sheet = showing.booklet_sheet.saturating_sub(1).min(last)
            }
            Action::Editions => overlays.open_series(SeriesPage::Editions),
            Action::Colourways => overlays.open_series(SeriesPage::Colourways),
            Action::Shelf => overlays.reopen(OpenOverlay::Shelf(Box::default())),
            Action::FoldSchemes => overlays.open_schemes(),
            Action::Help => overlays.open(OpenOverlay::Help),
            Action::Licences => overlays.open(OpenOverlay::Licences(0)),
            Action::Units | Action::Theme => {
                let settings = self.session.settings_mut();
                if action == Action::Units {
                    settings.unit =
                        if settings.unit == LengthUnit::Mm { LengthUnit::Inch } else { LengthUnit::Mm };
                } else {
                    settings.theme = match settings.theme {
                        Theme::System => Theme::Light,
                        Theme::Light => Theme::Dark,
                        Theme::Dark => Theme::System,
                    };
                }
                theme::follow(ctx, settings.theme);
                self.carry_out(ctx, Effect::SaveSettings);
            }
        }
        None
    }

    /// Starts to compare, changes to the other way, or ends when it is this one already.
    fn compare(&mut self, how: How) {
        if self.showing.compares(how) {
            self.showing.compare = None;
        } else if let Some((_, layer)) = self.session.selected_layer() {
            let against = self.showing.compare.and_then(|c| c.against);
            self.showing.compare = Some(Compare { how, against });
            (self.showing.face, self.showing.view) = (layer.face, MainView::Sheet);
            self.parts.views.sheet.turn = (false, f64::NEG_INFINITY);
        }
    }
}
