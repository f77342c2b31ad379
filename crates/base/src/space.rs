//! Points and directions in space: x to the right, y up, z toward the viewer.

/// A point or direction in space.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec3 {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
    /// Toward the viewer.
    pub z: f64,
}

impl Vec3 {
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }

    pub fn cross(self, o: Self) -> Self {
        Self::new(self.y * o.z - self.z * o.y, self.z * o.x - self.x * o.z, self.x * o.y - self.y * o.x)
    }

    pub fn length(self) -> f64 {
        libm::sqrt(self.dot(self))
    }

    /// Turned about the vertical axis, degrees; positive takes what is on the right away from the viewer.
    #[must_use]
    pub fn yawed(self, degrees: f64) -> Self {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        Self::new(self.x * cos + self.z * sin, self.y, self.z * cos - self.x * sin)
    }

    /// Turned about a line through a point along a unit axis, degrees, right-handed.
    #[must_use]
    pub fn about(self, point: Self, axis: Self, degrees: f64) -> Self {
        // Rodrigues' rotation formula.
        let (sin, cos) = libm::sincos(degrees.to_radians());
        let v = self - point;
        v * cos + axis.cross(v) * sin + axis * (axis.dot(v) * (1.0 - cos)) + point
    }
}

impl std::ops::Add for Vec3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}

impl std::ops::Sub for Vec3 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl std::ops::Mul<f64> for Vec3 {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by, self.z * by)
    }
}
