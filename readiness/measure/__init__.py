"""The mathematics: decisions under uncertainty, gas law, levelling, planes, plan geometry.

Knows no car and no shop; imports nothing of the rooms above it.
"""
