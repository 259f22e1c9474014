//! What is played: the making up of the chosen chain, or one candidate after the other.

/// What is played.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Show {
    /// The chosen chain being made up.
    #[default]
    MakingUp,
    /// The candidates of the chosen gap, one after the other.
    Candidates,
}

/// Where playing stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Playback {
    show: Show,
    seconds: f64,
    total: f64,
    speed: f64,
    playing: bool,
}

/// Speeds that can be chosen, as multiples of normal speed.
pub const SPEEDS: [f64; 5] = [0.25, 0.5, 1.0, 2.0, 4.0];

/// How long each candidate is shown.
pub const CANDIDATE_S: f64 = 1.2;

impl Default for Playback {
    fn default() -> Self {
        Self { show: Show::MakingUp, seconds: 0.0, total: 0.0, speed: 1.0, playing: false }
    }
}

impl Playback {
    /// What is played.
    #[must_use]
    pub fn show(&self) -> Show {
        self.show
    }

    /// Seconds from the start, at normal speed.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Seconds that the whole takes at normal speed.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.total
    }

    /// Whether time goes on by itself.
    #[must_use]
    pub fn is_playing(&self) -> bool {
        self.playing
    }

    /// Multiple of normal speed.
    #[must_use]
    pub fn speed(&self) -> f64 {
        self.speed
    }

    /// Sets the speed; what is not a positive number is ignored.
    pub fn set_speed(&mut self, speed: f64) {
        if speed > 0.0 && speed.is_finite() {
            self.speed = speed;
        }
    }

    /// Starts, from the beginning when the end was reached; or pauses.
    pub fn toggle(&mut self) {
        self.playing = !self.playing && self.total > 0.0;
        if self.playing && self.seconds >= self.total {
            self.seconds = 0.0;
        }
    }

    /// Stops where it is.
    pub fn pause(&mut self) {
        self.playing = false;
    }

    /// Goes to a time and stays there.
    pub fn scrub(&mut self, seconds: f64) {
        self.playing = false;
        self.seconds = if seconds.is_finite() { seconds.clamp(0.0, self.total) } else { self.total };
    }

    /// Goes to the next stop, or the one before, and stays there.
    pub fn step(&mut self, stops: &[f64], forward: bool) {
        /// Stops nearer than this count as where one is.
        const HERE_S: f64 = 1e-6;
        let next = if forward {
            stops.iter().copied().find(|stop| *stop > self.seconds + HERE_S)
        } else {
            stops.iter().rev().copied().find(|stop| *stop < self.seconds - HERE_S)
        };
        self.scrub(next.unwrap_or(if forward { self.total } else { 0.0 }));
    }

    /// Lets time pass; whether anything changed. Stops at the end.
    pub fn advance(&mut self, elapsed_s: f64) -> bool {
        if !self.playing || elapsed_s <= 0.0 {
            return false;
        }
        self.seconds += elapsed_s * self.speed;
        if self.seconds >= self.total {
            self.seconds = self.total;
            self.playing = false;
        }
        true
    }

    /// Something else is to be played, which takes so long: at its end, where all is done.
    pub(super) fn load(&mut self, show: Show, total: f64) {
        *self = Self { show, seconds: total, total, speed: self.speed, playing: false };
    }

    /// The same takes another time now: where one was at the end one stays at the end.
    pub(super) fn resize(&mut self, total: f64) {
        let at_end = self.seconds >= self.total;
        self.total = total;
        self.seconds = if at_end && !self.playing { total } else { self.seconds.min(total) };
    }
}

#[cfg(test)]
mod tests {
    use super::{Playback, Show};

    fn loaded() -> Playback {
        let mut playback = Playback::default();
        playback.load(Show::MakingUp, 10.0);
        playback
    }

    #[test]
    fn playing_begins_anew_at_the_end_and_stops_there() {
        let mut playback = loaded();
        assert!(!playback.advance(1.0), "nothing moves unasked");
        playback.toggle();
        assert_eq!(playback.seconds(), 0.0);
        playback.set_speed(2.0);
        assert!(playback.advance(3.0));
        assert_eq!(playback.seconds(), 6.0);
        assert!(playback.advance(3.0));
        assert_eq!((playback.seconds(), playback.is_playing()), (10.0, false));
    }

    #[test]
    fn steps_go_from_stop_to_stop() {
        let mut playback = loaded();
        let stops = [0.0, 4.0, 7.0, 10.0];
        playback.step(&stops, false);
        assert_eq!(playback.seconds(), 7.0);
        playback.scrub(5.0);
        playback.step(&stops, true);
        assert_eq!(playback.seconds(), 7.0);
        playback.step(&stops, false);
        playback.step(&stops, false);
        playback.step(&stops, false);
        assert_eq!(playback.seconds(), 0.0);
    }

    #[test]
    fn odd_times_and_speeds_do_no_harm() {
        let mut playback = loaded();
        playback.scrub(-3.0);
        assert_eq!(playback.seconds(), 0.0);
        playback.scrub(f64::NAN);
        assert_eq!(playback.seconds(), 10.0);
        playback.set_speed(0.0);
        playback.set_speed(f64::INFINITY);
        assert_eq!(playback.speed(), 1.0);
        let mut empty = Playback::default();
        empty.toggle();
        assert!(!empty.is_playing(), "there is nothing to play");
    }
}
