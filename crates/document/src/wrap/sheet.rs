//! The wrap as a sheet of its own in the project, with its own layers.
//!
//! A project has one sheet in hand: its `sheet`, `layers` and so on. With a wrap there is another one, kept
//! aside whole, and [`Project::turn_to`] exchanges the two, so that whatever works on a project works on
//! either sheet. Which one is in hand is part of a snapshot, so undo comes back to the sheet it belongs to, but
//! never part of the file: there the booklet is always in hand.

use serde::{Deserialize, Serialize};

use super::{Wrap, WrapError, WrapOrder, WrapPlan};
use crate::accepted::Accepted;
use crate::edition::Edition;
use crate::layer::{Art, Layer, Slip};
use crate::project::Project;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Mm, SheetFormat};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::Scheme;
use slipsheet_paper::turning::Turning;

/// The sheet that is not in hand: what of a project belongs to one sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OtherSheet {
    /// Format.
    pub sheet: SheetFormat,
    /// Whether it lies.
    #[serde(default)]
    pub lying: bool,
    /// The paper.
    pub stock: Stock,
    /// Layers in printing order.
    #[serde(default)]
    pub layers: Vec<Layer>,
    /// The fold; a wrap has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fold: Option<Scheme>,
    /// What is trimmed off; a wrap's net says that itself.
    #[serde(default)]
    pub trim: Mm,
    /// The booklet of several sheets; a wrap is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub booklet: Option<Booklet>,
    /// How the sheet is turned over for its back.
    #[serde(default)]
    pub turning: Turning,
    /// Shift of the whole back.
    #[serde(default)]
    pub back_slip: Slip,
    /// Findings that the person lives with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<Accepted>,
    /// Editions.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub editions: Vec<Edition>,
}

/// The wrap of a project, and the sheet that is not in hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WrapSheet {
    /// What it is.
    pub wrap: Wrap,
    /// The sheet that is not in hand: the wrap's, or the booklet's while the wrap is.
    pub other: OtherSheet,
    #[serde(skip)]
    in_hand: bool,
}

impl Project {
    /// Whether the wrap's sheet is in hand.
    pub fn shows_wrap(&self) -> bool {
        self.wrap.as_ref().is_some_and(|w| w.in_hand)
    }

    /// Takes the wrap's sheet in hand, or the booklet's; without a wrap nothing happens.
    pub fn turn_to(&mut self, wrap: bool) {
        let Some(sheet) = self.wrap.as_mut().filter(|w| w.in_hand != wrap) else { return };
        sheet.in_hand = wrap;
        let other = &mut sheet.other;
        // Everything of a project that belongs to one sheet, and nothing else.
        std::mem::swap(&mut self.sheet, &mut other.sheet);
        std::mem::swap(&mut self.lying, &mut other.lying);
        std::mem::swap(&mut self.stock, &mut other.stock);
        std::mem::swap(&mut self.layers, &mut other.layers);
        std::mem::swap(&mut self.fold, &mut other.fold);
        std::mem::swap(&mut self.trim, &mut other.trim);
        std::mem::swap(&mut self.booklet, &mut other.booklet);
        std::mem::swap(&mut self.turning, &mut other.turning);
        std::mem::swap(&mut self.back_slip, &mut other.back_slip);
        std::mem::swap(&mut self.accepted, &mut other.accepted);
        std::mem::swap(&mut self.editions, &mut other.editions);
    }

    /// The project with the wrap's sheet in hand, or the booklet's.
    #[must_use]
    pub fn turned_to(&self, wrap: bool) -> Self {
        let mut project = self.clone();
        project.turn_to(wrap);
        project
    }

    /// The project with the wrap's sheet in hand, as render and proof take it; `None` without a wrap.
    pub fn wrap_project(&self) -> Option<Self> {
        self.wrap.as_ref()?;
        Some(self.turned_to(true))
    }

    /// Whether two projects are the same, whichever sheet each has in hand.
    pub fn is_same_work(&self, other: &Self) -> bool {
        if self.shows_wrap() == other.shows_wrap() {
            self == other
        } else {
            self.turned_to(other.shows_wrap()) == *other
        }
    }

    /// Gives the wrap a sheet, or changes what it has; its layers and the sheet in hand stay.
    pub fn give_wrap(&mut self, order: &WrapOrder) {
        let shown = self.shows_wrap();
        self.turn_to(false);
        let WrapOrder { wrap, sheet, lying, stock } = order.clone();
        match &mut self.wrap {
            Some(has) => {
                has.wrap = wrap;
                (has.other.sheet, has.other.lying, has.other.stock) = (sheet, lying, stock);
            }
            None => {
                let (layers, editions) = (Vec::new(), Vec::new());
                let other = OtherSheet {
                    sheet,
                    lying,
                    stock,
                    layers,
                    fold: None,
                    trim: Mm::ZERO,
                    booklet: None,
                    turning: Turning::default(),
                    back_slip: Slip::default(),
                    accepted: Vec::new(),
                    editions,
                };
                self.wrap = Some(Box::new(WrapSheet { wrap, other, in_hand: false }));
            }
        }
        self.turn_to(shown);
    }

    /// The wrap with its sheet and stock.
    pub fn wrap_order(&self) -> Option<WrapOrder> {
        let has = self.wrap.as_ref()?;
        let (sheet, lying, stock) = if has.in_hand {
            (self.sheet, self.lying, &self.stock)
        } else {
            (has.other.sheet, has.other.lying, &has.other.stock)
        };
        Some(WrapOrder { wrap: has.wrap.clone(), sheet, lying, stock: stock.clone() })
    }

    /// The wrap worked out; `None` without one.
    ///
    /// # Errors
    /// Inside, when it cannot be made any more, as after another fold was chosen.
    pub fn wrap_plan(&self) -> Option<Result<WrapPlan, WrapError>> {
        self.wrap_order().map(|order| WrapPlan::new(self, &order))
    }

    /// Every piece of artwork, of both sheets.
    pub fn every_art(&self) -> impl Iterator<Item = &Art> {
        let other = self.wrap.iter().flat_map(|w| &w.other.layers);
        self.layers.iter().chain(other).flat_map(|l| &l.art)
    }

    /// Every piece of artwork, of both sheets, to be changed alike.
    pub fn every_art_mut(&mut self) -> impl Iterator<Item = &mut Art> {
        let other = self.wrap.iter_mut().flat_map(|w| &mut w.other.layers);
        self.layers.iter_mut().chain(other).flat_map(|l| &mut l.art)
    }
}
