//! The frames of a video, and the part of each that may hold text.
use crate::chart::labels::Area;

/// A size of picture. The first two share one layout, so that a cut in high definition and one in ultra-high
/// definition look the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Frame {
    /// 1920 × 1080.
    Hd,
    /// 3840 × 2160.
    Uhd,
    /// 1080 × 1920, for clips watched upright.
    Tall,
}

/// Share of width and height kept free at each edge: title-safe is the inner 90 % of both (SMPTE ST 2046-1:2009; EBU
/// R 95 calls the same 5 % from each edge the graphics safe area).
pub const EDGE: f64 = 0.05;

impl Frame {
    /// All of them.
    pub const ALL: [Frame; 3] = [Frame::Hd, Frame::Uhd, Frame::Tall];

    /// Stable word: in file names and on the command line.
    pub fn key(self) -> &'static str {
        match self {
            Frame::Hd => "1080",
            Frame::Uhd => "2160",
            Frame::Tall => "vertical",
        }
    }

    /// Pixels across and down.
    pub fn pixels(self) -> (u32, u32) {
        match self {
            Frame::Hd => (1920, 1080),
            Frame::Uhd => (3840, 2160),
            Frame::Tall => (1080, 1920),
        }
    }

    /// Pixels per drawing unit.
    pub fn scale(self) -> f32 {
        if self == Frame::Uhd { 2.0 } else { 1.0 }
    }

    /// Drawing units across and down.
    pub fn units(self) -> (f64, f64) {
        if self == Frame::Tall { (1080.0, 1920.0) } else { (1920.0, 1080.0) }
    }

    /// Title-safe in drawing units: nothing is drawn outside, plates included.
    pub fn safe(self) -> Area {
        let (wide, high) = self.units();
        Area { x0: wide * EDGE, y0: high * EDGE, x1: wide * (1.0 - EDGE), y1: high * (1.0 - EDGE) }
    }

    /// Where pictures are laid out. Upright players put their buttons on the top 14 %, the bottom 25 % and the right
    /// 12 % (common practice; it differs between them), so upright pictures stay clear of those.
    pub fn room(self) -> Area {
        match self {
            Frame::Tall => Area { x0: 54.0, y0: 270.0, x1: 950.0, y1: 1440.0 },
            _ => self.safe(),
        }
    }

    /// Lower edge of a strip at the foot of the picture: above the control bar of players (12 %, common practice).
    pub fn strip_floor(self) -> f64 {
        if self == Frame::Tall { self.room().y1 } else { 1080.0 * 0.88 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn title_safe_is_the_published_one() {
        // 5 % of 1920 × 1080 is 96 × 54: 1728 × 972 remain. Of 3840 × 2160 it is 192 × 108: 3456 × 1944.
        let safe = Frame::Hd.safe();
        assert_eq!((safe.x0, safe.y0, safe.wide(), safe.high()), (96.0, 54.0, 1728.0, 972.0));
        let uhd = Frame::Uhd.safe();
        assert_eq!(f64::from(Frame::Uhd.scale()) * uhd.wide(), 3456.0);
        for frame in Frame::ALL {
            let (room, safe) = (frame.room(), frame.safe());
            assert!(room.x0 >= safe.x0 && room.x1 <= safe.x1 && room.y0 >= safe.y0 && room.y1 <= safe.y1);
        }
    }
}
