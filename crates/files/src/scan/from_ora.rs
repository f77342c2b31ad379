//! `OpenRaster` files (freedesktop's layered image format, 0.0.x): each layer is a page of the file.
//!
//! The archive holds `stack.xml` and a PNG for each layer. Groups are flattened in order and the bottom
//! layer is page 0, as it is printed first. A layer is laid on the white canvas at its place and its own
//! opacity, whether it is shown or not: an original that is hidden while drawing is still an original.
//! Nothing is unpacked to the disk.

use std::io::{Cursor, Read as _};

use roxmltree::{Document, Node, ParsingOptions};
use zip::ZipArchive;
use zip::result::ZipError;

use super::context::{Context, Input};
use super::resolution::Resolution;
use super::{Header, Orientation, ScanError, from_png};

/// The most bytes that `stack.xml` may have.
const MOST_XML: u64 = 64 << 20;
/// The most elements, attributes and texts in it.
const MOST_NODES: u32 = 1 << 20;
/// The most bytes that a layer's PNG may have.
const MOST_PNG: u64 = 1 << 30;
/// Pixels of the canvas to a byte of the file: each layer and two previews of all are in it.
const MOST_PER_BYTE: u64 = 1 << 16;
/// More layers than this are not counted.
const MOST_LAYERS: usize = 10_000;

/// `stack.xml`, as far as it is used.
struct Stack {
    width: u32,
    height: u32,
    resolution: Option<Resolution>,
    layers: Vec<Leaf>,
}

struct Leaf {
    name: String,
    src: String,
    x: i64,
    y: i64,
    opacity: f64,
}

/// What is known before the pixels, and the layers' names from the bottom.
pub(super) fn header(
    input: &mut dyn Input,
    page: u32,
    cx: &Context<'_>,
) -> Result<(Header, Vec<String>), ScanError> {
    let mut archive = open(input, cx)?;
    let stack = stack(&mut archive, cx)?;
    let png = from_png::header(&mut Cursor::new(layer_png(&mut archive, stack.leaf(page, cx)?, cx)?), cx)?;
    let header = Header {
        width: stack.width,
        height: stack.height,
        bits: png.bits,
        colour: png.colour,
        resolution: stack.resolution,
        pages: stack.layers.len() as u32,
        orientation: Orientation::UPRIGHT,
    };
    Ok((header, stack.layers.into_iter().map(|l| l.name).collect()))
}

pub(super) fn pixels(input: &mut dyn Input, page: u32, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let length = cx.rewound_length(input)?;
    let mut archive = open(input, cx)?;
    let stack = stack(&mut archive, cx)?;
    cx.check_claim((stack.width, stack.height), MOST_PER_BYTE, length)?;
    let leaf = stack.leaf(page, cx)?;
    let mut png = Cursor::new(layer_png(&mut archive, leaf, cx)?);
    let width = from_png::header(&mut png, cx)?.width as usize;
    png.set_position(0);
    let layer = from_png::pixels(&mut png, cx)?;
    let mut gray = cx.buffer(stack.width.into(), stack.height.into())?;
    gray.fill(255);
    // How far the layer's first column lies inside the canvas, and how many of its columns lie outside.
    let (left, cut) = (leaf.x.max(0) as usize, leaf.x.min(0).unsigned_abs() as usize);
    let canvas_width = stack.width as usize;
    for (y, row) in layer.chunks_exact(width.max(1)).enumerate() {
        let Ok(at) = usize::try_from(leaf.y.saturating_add(y as i64)) else { continue };
        let Some(out) = gray.chunks_exact_mut(canvas_width).nth(at) else { break };
        let out = out.get_mut(left..).unwrap_or_default();
        for (o, v) in out.iter_mut().zip(row.get(cut..).unwrap_or_default()) {
            *o = faded(*v, leaf.opacity);
        }
    }
    cx.tick(1, 1)?;
    Ok(gray)
}

/// Gray over white at an opacity, in encoded values as drawing programs show it.
fn faded(gray: u8, opacity: f64) -> u8 {
    (255.0 - opacity * f64::from(255 - gray)).round() as u8
}

impl Stack {
    fn leaf(&self, page: u32, cx: &Context<'_>) -> Result<&Leaf, ScanError> {
        let pages = self.layers.len() as u32;
        let missing = || ScanError::NoSuchPage { name: cx.name.to_owned(), page, pages };
        self.layers.get(page as usize).ok_or_else(missing)
    }
}

type Archive<'i> = ZipArchive<&'i mut dyn Input>;

fn open<'i>(input: &'i mut dyn Input, cx: &Context<'_>) -> Result<Archive<'i>, ScanError> {
    cx.rewound_length(input)?;
    ZipArchive::new(input).map_err(|e| trouble(cx, e))
}

/// The bytes of an entry, of which there may be so many whatever the archive claims.
fn entry(archive: &mut Archive<'_>, name: &str, most: u64, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let file = match archive.by_name(name) {
        Ok(file) => file,
        Err(ZipError::FileNotFound) => return Err(cx.damaged(format!("{name} is missing in it"))),
        Err(e) => return Err(trouble(cx, e)),
    };
    // What the archive claims is believed where it is too much, and looked at where it is not.
    if file.size() > most {
        return Err(cx.too_much_memory());
    }
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(|e| cx.io(e))?;
    if bytes.len() as u64 > most { Err(cx.too_much_memory()) } else { Ok(bytes) }
}

fn stack(archive: &mut Archive<'_>, cx: &Context<'_>) -> Result<Stack, ScanError> {
    let bytes = entry(archive, "stack.xml", MOST_XML, cx)?;
    let text = std::str::from_utf8(&bytes).map_err(|e| cx.damaged(e))?;
    let options = ParsingOptions { nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|e| cx.damaged(e))?;
    let image = document.root_element();
    let side = |name| whole(image, name).and_then(|n| u32::try_from(n).ok()).unwrap_or(0);
    let (width, height) = (side("w"), side("h"));
    cx.check_size(width, height)?;
    let (x, y) = (number(image, "xres"), number(image, "yres"));
    let resolution = x.or(y).zip(y.or(x)).map(|(x, y)| Resolution { x, y });
    // The document has the top layer first.
    let mut layers: Vec<Leaf> =
        document.descendants().filter(|n| n.has_tag_name("layer")).take(MOST_LAYERS).map(leaf).collect();
    layers.reverse();
    if layers.is_empty() {
        return Err(cx.damaged("it has no layers"));
    }
    Ok(Stack { width, height, resolution, layers })
}

fn leaf(node: Node<'_, '_>) -> Leaf {
    Leaf {
        name: node.attribute("name").unwrap_or_default().trim().to_owned(),
        src: node.attribute("src").unwrap_or_default().to_owned(),
        x: whole(node, "x").unwrap_or(0),
        y: whole(node, "y").unwrap_or(0),
        opacity: number(node, "opacity").unwrap_or(1.0).clamp(0.0, 1.0),
    }
}

fn number(node: Node<'_, '_>, name: &str) -> Option<f64> {
    node.attribute(name)?.trim().parse().ok().filter(|n: &f64| n.is_finite())
}

fn whole(node: Node<'_, '_>, name: &str) -> Option<i64> {
    // The cast saturates.
    number(node, name).map(|n| n.round() as i64)
}

/// The PNG of a layer; its name may only lead down into the archive.
fn layer_png(archive: &mut Archive<'_>, leaf: &Leaf, cx: &Context<'_>) -> Result<Vec<u8>, ScanError> {
    let src = leaf.src.as_str();
    let strange =
        src.contains(['\\', ':', '\0']) || src.split('/').any(|part| matches!(part, "" | "." | ".."));
    if strange {
        return Err(cx.damaged("a layer has no usable file name"));
    }
    let png = entry(archive, src, MOST_PNG, cx)?;
    if png.starts_with(b"\x89PNG") { Ok(png) } else { Err(cx.unsupported("a layer that is no PNG")) }
}

fn trouble(cx: &Context<'_>, error: ZipError) -> ScanError {
    match error {
        ZipError::Io(e) => cx.io(e),
        ZipError::CompressionMethodNotSupported(_) | ZipError::UnsupportedArchive(_) => {
            cx.unsupported("a rare compression")
        }
        other => cx.damaged(other),
    }
}
