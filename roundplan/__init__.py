"""Plan rounds of caesarean birth team simulation: who trains, who stays as cover, which crew goes where."""
