// Light that spreads inside the paper a board is printed on: white beside ink starts at half and comes on as
// 1 - exp(-d / spread) / 2 (optical gain, the model of Yule and Nielsen 1951 with an exponential spread; from
// memory). Of a printed edge's line spread that is half a step and half an exponential: variance 3/4, third
// central moment 7/4 and fourth moment 12 of the spread's powers.
#pragma once

namespace rondure {

constexpr double kPaperSpread_mm = 0.02;  // of paper that nothing is known of, rms; from memory
// Times the spread's power in blurs: the edge's skewness (third; coefficient of He2 phi), its relative growth
// of blur (second), and its overshoot (fourth; of He3 phi), each as an upper size.
constexpr double kPaperSkew = 1.75 / 6, kPaperBlur = 0.375, kPaperPeak = 0.5;

}  // namespace rondure
