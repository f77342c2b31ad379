//! Whether all is there that a page of a PDF draws, looked at before it is drawn.
//!
//! The reader leaves out what it does not find and fills what is missing of what it finds, without a word; here
//! that ends the reading. Each stream is looked at once however often it is drawn.

use std::collections::{BTreeMap, BTreeSet};

use hayro::hayro_syntax::content::TypedIter;
use hayro::hayro_syntax::content::ops::TypedInstruction;
use hayro::hayro_syntax::object::{Array, Dict, Name, Stream};
use hayro::hayro_syntax::page::{Page, Resources};

use super::apart::Ended;
use super::pdf_unpack::{Flaw, check_whole, unpacked_length};

/// Streams that are looked into for what they draw.
const MOST_FORMS: usize = 100_000;
/// The most bytes of a page's own contents, as the reader joins them.
const MOST_CONTENTS: u64 = 256 << 20;

/// Looks at the page's own contents and, through all forms, at what they name.
pub(super) fn check_page(page: &Page<'_>) -> Result<(), Ended> {
    let contents = contents(page)?;
    // The same stream may be named again and again, and is drawn as often.
    let (mut looked_at, mut all) = (BTreeMap::new(), 0_u64);
    for stream in &contents {
        let id = stream.obj_id();
        let length = match looked_at.get(&(id.obj_number, id.gen_number)) {
            Some(length) => *length,
            None => {
                whole(stream, "the drawing")?;
                let length = unpacked_length(stream).map_err(|flaw| ended(flaw, "the drawing"))?;
                looked_at.insert((id.obj_number, id.gen_number), length);
                length
            }
        };
        all = all.saturating_add(length);
        if all > MOST_CONTENTS {
            return Err(Ended::TooComplex);
        }
    }
    let Some(own) = page.page_stream().filter(|_| !contents.is_empty()) else {
        return if contents.is_empty() { Ok(()) } else { Err(Ended::Broken("the drawing")) };
    };
    let mut seen = BTreeSet::new();
    let mut open = drawn(own, page.resources())?;
    while let Some((form, around)) = open.pop() {
        let id = form.obj_id();
        if !seen.insert((id.obj_number, id.gen_number)) {
            continue;
        }
        if seen.len() > MOST_FORMS {
            return Err(Ended::TooComplex);
        }
        whole(&form, "a part of the drawing")?;
        let resources = form.dict().get::<Dict<'_>>("Resources").map(Resources::new).unwrap_or(around);
        let inside = form.decoded_data().map_err(|_e| Ended::Broken("a part of the drawing"))?;
        open.extend(drawn(&inside, &resources)?);
    }
    Ok(())
}

/// The streams of a page's contents, all of which must be there.
fn contents<'a>(page: &Page<'a>) -> Result<Vec<Stream<'a>>, Ended> {
    const CONTENTS: &str = "Contents";
    let dict = page.raw();
    if let Some(stream) = dict.get::<Stream<'_>>(CONTENTS) {
        return Ok(vec![stream]);
    }
    if let Some(array) = dict.get::<Array<'_>>(CONTENTS) {
        let streams: Vec<Stream<'_>> = array.iter::<Stream<'_>>().collect();
        return if streams.len() == array.raw_iter().count() {
            Ok(streams)
        } else {
            Err(Ended::Broken("the drawing"))
        };
    }
    // A page may be blank, but what it names must be there.
    if dict.contains_key(CONTENTS) { Err(Ended::Broken("the drawing")) } else { Ok(Vec::new()) }
}

/// The forms that these contents draw, and the resources around them; pictures are looked at when they are weighed.
fn drawn<'a>(contents: &[u8], resources: &Resources<'a>) -> Result<Vec<(Stream<'a>, Resources<'a>)>, Ended> {
    let mut names = BTreeSet::new();
    let mut forms = Vec::new();
    let mut iter = TypedIter::new(contents);
    while let Some(instruction) = iter.next() {
        let TypedInstruction::XObject(named) = instruction else { continue };
        if !names.insert(named.0.to_vec()) {
            continue;
        }
        let stream = resources.get_x_object(named.0).ok_or(Ended::Broken("a picture"))?;
        if stream.dict().get::<Name<'_>>("Subtype").is_some_and(|kind| &*kind == b"Form") {
            forms.push((stream, resources.clone()));
        }
    }
    Ok(forms)
}

fn whole(stream: &Stream<'_>, what: &'static str) -> Result<(), Ended> {
    check_whole(stream).map_err(|flaw| ended(flaw, what))
}

fn ended(flaw: Flaw, what: &'static str) -> Ended {
    match flaw {
        Flaw::Damaged => Ended::Broken(what),
        Flaw::TooLong => Ended::TooComplex,
    }
}
