//! From a drawing to the bytes of a PNG: straight alpha, and what it shows written into it.
use super::face::FAMILY;
use crate::assets;
use png::{BitDepth, ColorType, Compression, Encoder};
use resvg::{tiny_skia, usvg};
use std::sync::{Arc, OnceLock};

/// A drawing that could not be turned into a picture. The drawings are our own, so this is a fault of the program.
#[derive(Debug)]
pub struct Undrawn(String);

impl std::fmt::Display for Undrawn {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "a picture could not be drawn: {}", self.0)
    }
}

impl std::error::Error for Undrawn {}

fn undrawn(why: impl ToString) -> Undrawn {
    Undrawn(why.to_string())
}

/// Only the typeface that is carried along, so that the picture is the same on every machine.
fn fonts() -> Arc<usvg::fontdb::Database> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let load = || {
        let mut fonts = usvg::fontdb::Database::new();
        for file in [assets::REGULAR, assets::SEMIBOLD] {
            fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(file)));
        }
        Arc::new(fonts)
    };
    FONTS.get_or_init(load).clone()
}

/// Pixels of a drawing with straight alpha, row by row, four bytes each: red, green, blue, alpha.
pub fn pixels(svg: &str, size: (u32, u32), scale: f32) -> Result<Vec<u8>, Undrawn> {
    let options = usvg::Options { fontdb: fonts(), font_family: FAMILY.into(), ..usvg::Options::default() };
    let tree = usvg::Tree::from_str(svg, &options).map_err(undrawn)?;
    let mut map = tiny_skia::Pixmap::new(size.0, size.1).ok_or_else(|| undrawn("it has no size"))?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut map.as_mut());
    Ok(straight(map))
}

/// Undoes the multiplication by alpha; most pixels are empty or opaque and stay as they are.
fn straight(mut map: tiny_skia::Pixmap) -> Vec<u8> {
    for p in map.data_mut().chunks_exact_mut(4) {
        let a = u32::from(p[3]);
        if a != 0 && a != 255 {
            for c in &mut p[..3] {
                *c = ((u32::from(*c) * 255 + a / 2) / a).min(255) as u8;
            }
        }
    }
    map.take()
}

/// The PNG of pixels, with texts (keyword of at most 79 Latin letters, and what it says) in iTXt chunks.
pub fn png(pixels: &[u8], size: (u32, u32), texts: &[(&str, String)]) -> Result<Vec<u8>, Undrawn> {
    let mut out = Vec::with_capacity(64 << 10);
    let mut encoder = Encoder::new(&mut out, size.0, size.1);
    encoder.set_color(ColorType::Rgba);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    for (keyword, text) in texts {
        encoder.add_itxt_chunk((*keyword).to_string(), text.clone()).map_err(undrawn)?;
    }
    let mut writer = encoder.write_header().map_err(undrawn)?;
    writer.write_image_data(pixels).map_err(undrawn)?;
    writer.finish().map_err(undrawn)?;
    Ok(out)
}

/// The texts written into a PNG before its pixels, by keyword; empty for anything else. Reads as much as it is given.
pub fn texts(bytes: &[u8]) -> Vec<(String, String)> {
    let Some(mut rest) = bytes.strip_prefix(b"\x89PNG\r\n\x1a\n") else { return Vec::new() };
    let mut found = Vec::new();
    // PNG (third edition) 5.3: length, type, data, checksum. 11.3.3.4: keyword, 0, compressed?, method, language, 0,
    // translated keyword, 0, text.
    while let Some((head, tail)) = rest.split_at_checked(8) {
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let Some(data) = tail.get(..length) else { break };
        match &head[4..8] {
            b"IDAT" | b"IEND" => break,
            b"iTXt" => found.extend(international(data)),
            _ => (),
        }
        let Some(next) = tail.get(length + 4..) else { break };
        rest = next;
    }
    found
}

fn international(data: &[u8]) -> Option<(String, String)> {
    let mut parts = data.splitn(2, |b| *b == 0);
    let (keyword, rest) = (parts.next()?, parts.next()?);
    if *rest.first()? != 0 {
        return None;
    }
    let text = rest.get(2..)?.splitn(3, |b| *b == 0).nth(2)?;
    Some((String::from_utf8(keyword.to_vec()).ok()?, String::from_utf8(text.to_vec()).ok()?))
}
