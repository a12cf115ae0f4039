"""Genetic prediction: Henderson's mixed-model equations over a pedigree."""

from upsides.pedigree.prediction.model import Model, Variances
from upsides.pedigree.prediction.predicting import Prediction, predict, prediction_errors

__all__ = ["Model", "Prediction", "Variances", "predict", "prediction_errors"]
