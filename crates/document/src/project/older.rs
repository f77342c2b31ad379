//! Projects of the formats 1 to 3, in which layers were known by their place and name, and the wrap was a second sheet
//! behind the first. Whatever pointed at a layer that is not there is left out.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::{Project, ProjectError, SCHEMA, WrapSheet};
use crate::acceptance::Acceptance;
use crate::accepted::{Accepted, Place};
use crate::edition::{Colours, Edition};
use crate::ids::{Ids, LayerId};
use crate::layer::{Art, Crop, Layer, Placement, ScanRef, Slip, Target};
use crate::printing::press_dpi;
use crate::remedy::{Growth, Remedy};
use crate::sheet::Sheet;
use crate::terms::JobTerms;
use crate::wrap::Wrap;
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::press::Press;
use slipsheet_core::reading::Reading;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, Mm, SheetFormat};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{self, Face, Scheme};
use slipsheet_paper::turning::Turning;

/// Format 1 named its fold scheme instead of carrying it.
#[derive(Deserialize)]
#[serde(rename = "Project", deny_unknown_fields)]
pub(super) struct ProjectV1 {
    #[serde(rename = "schema")]
    _schema: u32,
    title: String,
    sheet: SheetFormat,
    stock: Stock,
    layers: Vec<LayerV3>,
    #[serde(default)]
    fold: Option<String>,
}

/// Formats 2 and 3; the second knew no press.
#[derive(Deserialize)]
#[serde(rename = "Project", deny_unknown_fields)]
pub(super) struct ProjectV3 {
    #[serde(rename = "schema")]
    _schema: u32,
    title: String,
    sheet: SheetFormat,
    #[serde(default)]
    lying: bool,
    stock: Stock,
    layers: Vec<LayerV3>,
    #[serde(default)]
    fold: Option<Scheme>,
    #[serde(default)]
    overprints: Vec<OverprintSwatch>,
    #[serde(default)]
    trim: Mm,
    #[serde(default)]
    turning: Turning,
    #[serde(default)]
    back_slip: Slip,
    #[serde(default)]
    booklet: Option<Booklet>,
    #[serde(default = "press_dpi")]
    press_dpi: Dpi,
    #[serde(default)]
    press: Press,
    #[serde(default)]
    editions: Vec<EditionV3>,
    #[serde(default)]
    job: JobTerms,
    #[serde(default)]
    accepted: Vec<AcceptedV3>,
    #[serde(default)]
    wrap: Option<Box<WrapV3>>,
}

#[derive(Deserialize)]
#[serde(rename = "WrapSheet", deny_unknown_fields)]
struct WrapV3 {
    wrap: Wrap,
    other: OtherV3,
}

#[derive(Deserialize)]
#[serde(rename = "OtherSheet", deny_unknown_fields)]
struct OtherV3 {
    sheet: SheetFormat,
    #[serde(default)]
    lying: bool,
    stock: Stock,
    #[serde(default)]
    layers: Vec<LayerV3>,
    #[serde(default)]
    fold: Option<Scheme>,
    #[serde(default)]
    trim: Mm,
    #[serde(default)]
    booklet: Option<Booklet>,
    #[serde(default)]
    turning: Turning,
    #[serde(default)]
    back_slip: Slip,
    #[serde(default)]
    accepted: Vec<AcceptedV3>,
    #[serde(default)]
    editions: Vec<EditionV3>,
}

#[derive(Deserialize)]
#[serde(rename = "Layer", deny_unknown_fields)]
struct LayerV3 {
    name: String,
    ink: Ink,
    #[serde(default)]
    face: Face,
    #[serde(default)]
    art: Vec<ArtV3>,
    #[serde(default)]
    slip: Slip,
    #[serde(default = "shown")]
    visible: bool,
    #[serde(default)]
    reading: Reading,
    #[serde(default)]
    with_previous: bool,
    #[serde(default)]
    remedies: Vec<RemedyV3>,
}

fn shown() -> bool {
    true
}

#[derive(Deserialize)]
#[serde(rename = "Art", deny_unknown_fields)]
struct ArtV3 {
    scan: ScanRef,
    #[serde(default)]
    target: Target,
    #[serde(default)]
    placement: Placement,
    #[serde(default)]
    crop: Option<Crop>,
}

#[derive(Deserialize)]
#[serde(rename = "Remedy")]
enum RemedyV3 {
    Spread(Growth),
    Choke(Growth),
    Knockout { under: usize, trap: Growth },
    Fill { under: usize },
}

#[derive(Deserialize)]
#[serde(rename = "Edition", deny_unknown_fields)]
struct EditionV3 {
    name: String,
    stock: Stock,
    inks: Vec<LayerInkV3>,
}

#[derive(Deserialize)]
#[serde(rename = "LayerInk", deny_unknown_fields)]
struct LayerInkV3 {
    layer: String,
    place: usize,
    ink: Ink,
}

#[derive(Deserialize)]
#[serde(rename = "Accepted", deny_unknown_fields)]
struct AcceptedV3 {
    kind: String,
    #[serde(default)]
    place: String,
    #[serde(default)]
    note: String,
}

impl TryFrom<ProjectV1> for Project {
    type Error = ProjectError;

    fn try_from(old: ProjectV1) -> Result<Self, ProjectError> {
        let unknown = |id: &str| ProjectError::Inconsistent(format!("it names an unknown fold, “{id}”"));
        let fold = old.fold.map(|id| fold::find(&id).ok_or_else(|| unknown(&id))).transpose()?;
        let mut project = Self::new(&old.title, old.sheet, old.stock);
        project.main.fold = fold;
        (project.main.layers, _) = layers(&mut project.ids, old.layers);
        Ok(project)
    }
}

impl From<ProjectV3> for Project {
    fn from(old: ProjectV3) -> Self {
        let mut ids = Ids::default();
        let main = OtherV3 {
            sheet: old.sheet,
            lying: old.lying,
            stock: old.stock,
            layers: old.layers,
            fold: old.fold,
            trim: old.trim,
            booklet: old.booklet,
            turning: old.turning,
            back_slip: old.back_slip,
            accepted: old.accepted,
            editions: old.editions,
        };
        let main = main.into_sheet(&mut ids);
        let wrap =
            old.wrap.map(|w| Box::new(WrapSheet { wrap: w.wrap, sheet: w.other.into_sheet(&mut ids) }));
        Self {
            schema: SCHEMA,
            title: old.title,
            main,
            wrap,
            overprints: old.overprints,
            press_dpi: old.press_dpi,
            press: old.press,
            acceptance: Acceptance::default(),
            job: old.job,
            ids,
        }
    }
}

impl OtherV3 {
    fn into_sheet(self, ids: &mut Ids) -> Sheet {
        let id = ids.sheet();
        let (layers, known) = layers(ids, self.layers);
        let editions = self.editions.into_iter().map(|e| e.into_edition(ids, &layers)).collect();
        let accepted = self.accepted.into_iter().filter_map(|a| a.into_accepted(&known)).collect();
        Sheet {
            id,
            format: self.sheet,
            landscape: self.lying,
            stock: self.stock,
            layers,
            fold: self.fold,
            booklet: self.booklet,
            trim: self.trim,
            turning: self.turning,
            back_slip: self.back_slip,
            editions,
            sources: Vec::new(),
            accepted,
        }
    }
}

/// The layers with their identities in the order of the file, and these alone.
fn layers(ids: &mut Ids, old: Vec<LayerV3>) -> (Vec<Layer>, Vec<LayerId>) {
    let known: Vec<LayerId> = old.iter().map(|_| ids.layer()).collect();
    // The pass that the layer before is in, on either face.
    let mut pass: [Option<LayerId>; 2] = [None, None];
    let mut layers = Vec::new();
    for (old, &id) in old.into_iter().zip(&known) {
        let before = &mut pass[usize::from(old.face == Face::Back)];
        let with = before.filter(|_| old.with_previous);
        *before = Some(with.unwrap_or(id));
        let art = |a: ArtV3| Art {
            id: ids.art(),
            scan: a.scan,
            target: a.target,
            placement: a.placement,
            crop: a.crop,
            regions: Vec::new(),
        };
        let remedy = |r: RemedyV3| {
            Some(match r {
                RemedyV3::Spread(by) => Remedy::Spread(by),
                RemedyV3::Choke(by) => Remedy::Choke(by),
                RemedyV3::Knockout { under, trap } => Remedy::Knockout { under: *known.get(under)?, trap },
                RemedyV3::Fill { under } => Remedy::Fill { under: *known.get(under)? },
            })
        };
        layers.push(Layer {
            id,
            name: old.name,
            ink: old.ink,
            face: old.face,
            art: old.art.into_iter().map(art).collect(),
            slip: old.slip,
            visible: old.visible,
            reading: old.reading,
            with,
            remedies: old.remedies.into_iter().filter_map(remedy).collect(),
        });
    }
    (layers, known)
}

impl EditionV3 {
    /// First what agrees in name and place, then in name alone; never in place alone, for another layer may have come
    /// there.
    fn into_edition(self, ids: &mut Ids, layers: &[Layer]) -> Edition {
        let mut inks = BTreeMap::new();
        let mut left: Vec<LayerInkV3> = self.inks;
        for strict in [true, false] {
            for (at, layer) in layers.iter().enumerate() {
                if inks.contains_key(&layer.id) {
                    continue;
                }
                let fits = |ink: &LayerInkV3| ink.layer == layer.name && (!strict || ink.place == at);
                if let Some(found) = left.iter().position(fits) {
                    inks.insert(layer.id, left.remove(found).ink);
                }
            }
        }
        Edition::new(ids.edition(), self.name, Colours { stock: self.stock, inks })
    }
}

impl AcceptedV3 {
    fn into_accepted(self, layers: &[LayerId]) -> Option<Accepted> {
        Some(Accepted { kind: self.kind, place: place(&self.place, layers)?, note: self.note })
    }
}

/// A place out of its words, such as "layer 2, page 3, sheet 1, front 31, 64 mm"; none of a layer that is not there.
fn place(words: &str, layers: &[LayerId]) -> Option<Place> {
    let mut place = Place::default();
    let mut parts = words.split(", ").filter(|p| !p.is_empty());
    while let Some((what, number)) = parts.next().and_then(|p| p.split_once(' ')) {
        let counted = || number.parse::<usize>().ok()?.checked_sub(1);
        match what {
            "layer" => place.layer = Some(*layers.get(counted()?)?),
            "page" => place.page = Some(number.parse().ok()?),
            "sheet" => place.sheet = Some(counted()?),
            "front" | "back" => {
                let face = if what == "back" { Face::Back } else { Face::Front };
                let y = parts.next()?.strip_suffix(" mm")?;
                place.spot = Some((face, number.parse().ok()?, y.parse().ok()?));
            }
            _ => return None,
        }
    }
    Some(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_read_out_of_its_words() {
        let layers = [LayerId::new(7), LayerId::new(9)];
        let whole = place("layer 2, page 3, sheet 1, back -4, 64 mm", &layers).unwrap();
        let spot = Some((Face::Back, -4, 64));
        assert_eq!(whole, Place { layer: Some(layers[1]), page: Some(3), sheet: Some(0), spot });
        assert_eq!(place("", &layers), Some(Place::default()));
        for gone in ["layer 3", "layer 0", "layer two", "under the table", "front 3", "front 3, 4"] {
            assert_eq!(place(gone, &layers), None, "{gone}");
        }
    }
}
